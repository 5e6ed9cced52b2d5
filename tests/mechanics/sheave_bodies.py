"""Two sheaves as rigid bodies in space, by rotation matrices: an oracle that knows nothing of the linear model.

A sheave is turned on its shaft, sits crooked on it, and the shaft itself is turned in space. Rim points are found on
the true circle of a face; a straightedge is a straight line; a gap is the distance along the shafts between the two.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from beltwright.mechanics.alignment import Level, Line

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Sheave:
    """centre: middle of the groove; slopes of its plane of rotation; wobble: slopes of its own plane against that."""

    diameter: float
    centre: tuple[float, float, float]
    slopes: tuple[float, float]
    wobble: tuple[float, float]
    outer: float
    inner: float

    def frame(self, turn: float) -> Array:
        return (plane(*self.slopes) * Rotation.from_euler("z", turn) * plane(*self.wobble)).as_matrix()

    def rim_point(self, face: float, turn: float, side: float, height: float) -> Array:
        """The point of a face's rim at this height over the line of centres, on the +x or -x side."""
        frame, radius = self.frame(turn), self.diameter / 2
        middle = np.asarray(self.centre) + frame[:, 2] * (self.outer if face > 0 else -self.inner)
        # y of middle + r (u cos t + v sin t) equals height: A cos(t - t0) = rest
        u, v = frame[1, 0] * radius, frame[1, 1] * radius
        angles = np.arctan2(v, u) + np.array([1.0, -1.0]) * np.arccos((height - middle[1]) / np.hypot(u, v))
        points = middle + radius * (np.outer(np.cos(angles), frame[:, 0]) + np.outer(np.sin(angles), frame[:, 1]))
        chosen: Array = points[np.argmax(side * points[:, 0])]
        return chosen

    def face_slope(self, turn: float, along: Array) -> float:
        normal = self.frame(turn)[:, 2]
        return float(-(normal @ along) / normal[2])


@dataclass(frozen=True)
class Drive:
    driver: Sheave
    driven: Sheave
    incline: float = 0.0

    @property
    def centre(self) -> float:
        return self.driven.centre[0] - self.driver.centre[0]

    def behind(self, line: Line, place: float, slope: float) -> Array:
        """How far each rim point stands behind a line z = place + slope x, on the side the face looks to."""
        points = np.array([
            self.driver.rim_point(line.face, line.driver_turn, -1.0, line.height),
            self.driver.rim_point(line.face, line.driver_turn, 1.0, line.height),
            self.driven.rim_point(line.face, line.driven_turn, -1.0, line.height),
            self.driven.rim_point(line.face, line.driven_turn, 1.0, line.height)])
        gaps: Array = line.face * (place + slope * points[:, 0] - points[:, 2])
        return gaps

    def gaps(self, line: Line, slope: float) -> Array:
        """Gaps of a straightedge of this slope pushed against the faces until it touches."""
        behind = self.behind(line, 0.0, slope)
        gaps: Array = behind - behind.min()
        return gaps

    def tilts(self, level: Level) -> Array:
        up = np.array([np.sin(self.incline), np.cos(self.incline), 0.0])
        return np.array([self.driver.face_slope(level.driver_turn, up), self.driven.face_slope(level.driven_turn, up)])

    def readings(self, lines: list[Line], levels: list[Level], slopes: list[float]) -> Array:
        faces = sorted({line.face for line in lines}, reverse=True)
        rims = [side.outer if face > 0 else side.inner for face in faces for side in (self.driver, self.driven)]
        return np.concatenate([*(self.gaps(line, slope) for line, slope in zip(lines, slopes, strict=True)),
                               *(self.tilts(level) for level in levels), rims])


def plane(along: float, across: float) -> Rotation:
    """The shortest rotation that gives a plane z = 0 the slopes dz/dx and dz/dy."""
    normal = np.array([-along, -across, 1.0])
    normal /= np.linalg.norm(normal)
    axis = np.cross([0.0, 0.0, 1.0], normal)
    size = float(np.linalg.norm(axis))
    return Rotation.from_rotvec(axis / size * np.arctan2(size, normal[2]) if size > 0 else np.zeros(3))


def turned_in_space(drive: Drive, along: float, across: float, shift: tuple[float, float, float]) -> Drive:
    """The same drive, both shafts leaning alike: what no relative reading may notice."""
    def lean(sheave: Sheave) -> Sheave:
        x, y, z = sheave.centre
        z += along * x + across * y
        return replace(sheave, centre=(x + shift[0], y + shift[1], z + shift[2]),
                       slopes=(sheave.slopes[0] + along, sheave.slopes[1] + across))
    return replace(drive, driver=lean(drive.driver), driven=lean(drive.driven))
