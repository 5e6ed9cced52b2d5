"""One step of three equations at once, by a stiffly accurate method that does not mind how fast a belt settles.

Linearly implicit (Rosenbrock) of order 4 in six stages with an error of order 3, written out for three unknowns so that
a step costs no array and no call but the equations'. Belts that slip settle within a fraction of a millisecond while
the start lasts for seconds: an explicit method would have to follow the first all through the second. Must not import
other modules of `mechanics`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

State: TypeAlias = tuple[float, float, float]
# time and state in, the three rates out
Rates: TypeAlias = Callable[[float, float, float, float], State]
# time and state in; the nine derivatives of the rates, row by row, and the first rate's derivative in time
Slopes: TypeAlias = Callable[[float, float, float, float], tuple[float, ...]]

# Hairer and Wanner's RODAS
_GAMMA = 0.25
_A21 = 1.544
_A31, _A32 = 0.9466785280815826, 0.2557011698983284
_A41, _A42, _A43 = 3.314825187068521, 2.896124015972201, 0.9986419139977817
_A51, _A52, _A53, _A54 = 1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950
_C21 = -5.6688
_C31, _C32 = -2.430093356833875, -0.2063599157091915
_C41, _C42, _C43 = -0.1073529058151375, -9.594562251023355, -20.47028614809616
_C51, _C52, _C53, _C54 = 7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160
_C61, _C62, _C63, _C64, _C65 = (8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136,
                                -6.058818238834054)
# the state inside a step, from its stages
_H21, _H22, _H23, _H24, _H25 = (10.12623508344586, -7.487995877610167, -34.80091861555747, -7.992771707568823,
                                1.025137723295662)
_H31, _H32, _H33, _H34, _H35 = (-0.6762803392801253, 6.087714651680015, 16.43084320892478, 24.76722511418386,
                                -6.594389125716872)
_M1, _M2, _M3, _M4, _M5 = (0.25 * (_H21 + 0.5 * _H31), 0.25 * (_H22 + 0.5 * _H32), 0.25 * (_H23 + 0.5 * _H33),
                           0.25 * (_H24 + 0.5 * _H34), 0.25 * (_H25 + 0.5 * _H35))
_T2, _T3, _T4 = 0.386, 0.21, 0.63
_D1, _D2, _D3, _D4 = 0.25, -0.1043, 0.1035, -0.0362


def rodas_step(rates: Rates, slopes: Slopes, time: float, state: State, first_rates: State,
               step: float) -> tuple[State, State, State]:
    """One step of the method, how far it may be off, and the state at its middle.

    (I/(γh) − J) u_i = f(t + α_i h, y + Σ a_ij u_j) + Σ c_ij u_j/h + γ_i h ∂f/∂t, i = 1 to 6

    rates:   the equations, the rates of change of the three unknowns [as the unknowns, per second]
    slopes:  their derivatives by the unknowns, and of the first by time [as the unknowns, per second]
    time:    time at the start of the step [s]
    state:   the three unknowns there [any unit]
    first_rates: their rates there [as the unknowns, per second]
    step:    how long the step is [s]
    returns: the unknowns at its end, the estimate of their error, the unknowns at its middle [as the unknowns]

    Order 4, at the middle 3; L-stable. Only the first equation may depend on time by itself.
    Errors: `ZeroDivisionError` where the equations of the step have no solution; a shorter step has one.
    Source: hairer1996, ch. IV.7, RODAS

    >>> state, error, middle = rodas_step(lambda t, a, b, c: (-a, -1e6 * b, 0.0),
    ...                           lambda t, a, b, c: (-1.0, 0, 0, 0, -1e6, 0, 0, 0, 0, 0.0),
    ...                           0.0, (1.0, 1.0, 7.0), (-1.0, -1e6, 0.0), 0.1)
    >>> round(state[0], 6), abs(state[1]) < 1e-4, state[2], round(middle[0], 5)
    (0.904837, True, 7.0, 0.95123)
    """
    a, b, c = state
    j11, j12, j13, j21, j22, j23, j31, j32, j33, in_time = slopes(time, a, b, c)
    diagonal = 1.0 / (_GAMMA * step)
    # the inverse of I/(γh) − J by cofactors: nine products serve all six stages
    p11, p22, p33 = diagonal - j11, diagonal - j22, diagonal - j33
    m11, m12, m13 = p22 * p33 - j23 * j32, j12 * p33 + j13 * j32, j12 * j23 + j13 * p22
    m21, m22, m23 = j21 * p33 + j23 * j31, p11 * p33 - j13 * j31, p11 * j23 + j13 * j21
    m31, m32, m33 = j21 * j32 + p22 * j31, p11 * j32 + j12 * j31, p11 * p22 - j12 * j21
    whole = 1.0 / (p11 * m11 - j12 * m21 - j13 * m31)
    m11, m12, m13 = whole * m11, whole * m12, whole * m13
    m21, m22, m23 = whole * m21, whole * m22, whole * m23
    m31, m32, m33 = whole * m31, whole * m32, whole * m33
    once, lag = 1.0 / step, step * in_time

    f, g, k = first_rates
    f += _D1 * lag
    a1, b1, c1 = m11 * f + m12 * g + m13 * k, m21 * f + m22 * g + m23 * k, m31 * f + m32 * g + m33 * k
    f, g, k = rates(time + _T2 * step, a + _A21 * a1, b + _A21 * b1, c + _A21 * c1)
    f, g, k = f + _C21 * a1 * once + _D2 * lag, g + _C21 * b1 * once, k + _C21 * c1 * once
    a2, b2, c2 = m11 * f + m12 * g + m13 * k, m21 * f + m22 * g + m23 * k, m31 * f + m32 * g + m33 * k
    f, g, k = rates(time + _T3 * step, a + _A31 * a1 + _A32 * a2, b + _A31 * b1 + _A32 * b2,
                    c + _A31 * c1 + _A32 * c2)
    f += (_C31 * a1 + _C32 * a2) * once + _D3 * lag
    g += (_C31 * b1 + _C32 * b2) * once
    k += (_C31 * c1 + _C32 * c2) * once
    a3, b3, c3 = m11 * f + m12 * g + m13 * k, m21 * f + m22 * g + m23 * k, m31 * f + m32 * g + m33 * k
    f, g, k = rates(time + _T4 * step, a + _A41 * a1 + _A42 * a2 + _A43 * a3, b + _A41 * b1 + _A42 * b2 + _A43 * b3,
                    c + _A41 * c1 + _A42 * c2 + _A43 * c3)
    f += (_C41 * a1 + _C42 * a2 + _C43 * a3) * once + _D4 * lag
    g += (_C41 * b1 + _C42 * b2 + _C43 * b3) * once
    k += (_C41 * c1 + _C42 * c2 + _C43 * c3) * once
    a4, b4, c4 = m11 * f + m12 * g + m13 * k, m21 * f + m22 * g + m23 * k, m31 * f + m32 * g + m33 * k
    a += _A51 * a1 + _A52 * a2 + _A53 * a3 + _A54 * a4
    b += _A51 * b1 + _A52 * b2 + _A53 * b3 + _A54 * b4
    c += _A51 * c1 + _A52 * c2 + _A53 * c3 + _A54 * c4
    f, g, k = rates(time + step, a, b, c)
    f += (_C51 * a1 + _C52 * a2 + _C53 * a3 + _C54 * a4) * once
    g += (_C51 * b1 + _C52 * b2 + _C53 * b3 + _C54 * b4) * once
    k += (_C51 * c1 + _C52 * c2 + _C53 * c3 + _C54 * c4) * once
    a5, b5, c5 = m11 * f + m12 * g + m13 * k, m21 * f + m22 * g + m23 * k, m31 * f + m32 * g + m33 * k
    a, b, c = a + a5, b + b5, c + c5
    f, g, k = rates(time + step, a, b, c)
    f += (_C61 * a1 + _C62 * a2 + _C63 * a3 + _C64 * a4 + _C65 * a5) * once
    g += (_C61 * b1 + _C62 * b2 + _C63 * b3 + _C64 * b4 + _C65 * b5) * once
    k += (_C61 * c1 + _C62 * c2 + _C63 * c3 + _C64 * c4 + _C65 * c5) * once
    a6, b6, c6 = m11 * f + m12 * g + m13 * k, m21 * f + m22 * g + m23 * k, m31 * f + m32 * g + m33 * k
    a, b, c = a + a6, b + b6, c + c6
    middle = (0.5 * (state[0] + a) + _M1 * a1 + _M2 * a2 + _M3 * a3 + _M4 * a4 + _M5 * a5,
              0.5 * (state[1] + b) + _M1 * b1 + _M2 * b2 + _M3 * b3 + _M4 * b4 + _M5 * b5,
              0.5 * (state[2] + c) + _M1 * c1 + _M2 * c2 + _M3 * c3 + _M4 * c4 + _M5 * c5)
    return (a, b, c), (a6, b6, c6), middle
