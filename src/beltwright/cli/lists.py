"""The published lists a person picks from: driven machines with their service factors, belt sections."""

from __future__ import annotations

from typing import Any, Final

from beltwright.cli.screen import Signs
from beltwright.cli.table import Column, Over, table, wrapped
from beltwright.units import DAY, HOUR, System, from_si, show

# a day of each class of the table of service factors
_HOURS: Final = (4, 9, 20)


def service_lines(width: int, signs: Signs) -> list[str]:
    """Driven machines by group, with the factors of each."""
    from beltwright.mechanics.service import driven_machines, driver_classes, service_factor
    from beltwright.tables import cite

    rows: list[tuple[str, ...] | Over] = []
    group = ""
    sources: dict[str, None] = {}
    for machine in driven_machines():
        found = [service_factor(machine, kind, hour * HOUR / DAY) for kind in ("normal torque", "high torque")
                 for hour in _HOURS]
        sources |= dict.fromkeys(found[0].sources)
        if found[0].group != group:
            group = found[0].group
            rows.append(Over(f"{group} duty" if group != "choking" else "any machine that can choke"))
        mark = "†" if found[0].trust == "memory" else ""
        rows.append((f"{machine}{mark}", *(f"{float(each.value):.1f}" for each in found)))
    heads = ("3–5 h", "8–10 h", "16–24 h")
    lines = table((Column("driven machine", least=20), *(Column(f"{kind}\n{head}", "number")
                   for kind in ("normal", "high") for head in heads)), rows, width=width, signs=signs)
    by_class = {kind: [driver for name, driver in driver_classes() if name == kind] for kind, _ in driver_classes()}
    lines += ["Hours are those it runs in a day."]
    for kind, drivers in by_class.items():
        lines += wrapped(f"{kind}: {'; '.join(drivers)}.", width, rest="  ")
    lines += ["† from memory, not verified", *wrapped(f"Source: {'; '.join(cite(key) for key in sources)}", width,
                                                       rest="  ")]
    return lines


def service_content() -> list[dict[str, Any]]:
    """Driven machines with their factors, for other programs."""
    from beltwright.mechanics.service import driven_machines, driver_classes, service_factor

    kinds = list(dict.fromkeys(kind for kind, _ in driver_classes()))
    found = [(machine, kind, hours, service_factor(machine, kind, hours * HOUR / DAY))
             for machine in driven_machines() for kind in kinds for hours in _HOURS]
    return [{"machine": machine, "driver": kind, "hours_a_day": hours, "factor": float(each.value),
             "group": each.group, "sources": list(each.sources), "trust": each.trust}
            for machine, kind, hours, each in found]


def section_content() -> list[dict[str, Any]]:
    """Belt sections by standard, for other programs."""
    from beltwright.errors import BeltwrightError
    from beltwright.mechanics import sections
    from beltwright.paper.as_json import named
    from beltwright.plant.drive import STANDARDS

    content = []
    for standard in STANDARDS:
        for name in sections.accepted(standard):
            found = sections.section(name, standard)
            try:
                mass = sections.mass_of(name, standard)
                weight = named("mass", mass.value, "mass per length") | {"mass_trust": mass.trust}
            except BeltwrightError:
                weight = {}
            content.append({"standard": standard, "section": name, **named("width", found.width, "length"),
                            **named("height", found.height, "length"), **weight,
                            **named("smallest", found.smallest, "length"), "smallest_as": found.smallest_as,
                            "trust": found.trust, "source": found.source})
    return content


def section_lines(system: System, width: int, signs: Signs) -> list[str]:
    """Belt sections by standard."""
    from beltwright.errors import BeltwrightError
    from beltwright.mechanics import sections
    from beltwright.plant.drive import STANDARDS
    from beltwright.tables import cite
    from beltwright.units import SHOWN

    unit = "in" if system == "inch" else "mm"
    digits = 3 if system == "inch" else 1
    rows: list[tuple[str, ...] | Over] = []
    marked = False
    sources: dict[str, None] = {}
    for standard, words in STANDARDS.items():
        rows.append(Over(f"{standard}: {words}"))
        for name in sections.accepted(standard):
            found = sections.section(name, standard)
            sources |= dict.fromkeys((found.source, found.smallest_source))
            try:
                mass = sections.mass_of(name, standard)
                weight = show(mass.value, "mass per length", system).split(" ")[0]
                mark = "†" if mass.trust == "memory" else ""
                sources[mass.source] = None
            except BeltwrightError:
                weight, mark = "", ""
            smallest = "†" if found.smallest_trust == "memory" else ""
            marked = marked or bool(mark or smallest or found.trust == "memory")
            rows.append((f"{name}{'†' if found.trust == 'memory' else ''}",
                         f"{from_si(found.width, unit, 'length'):.{digits}f}",
                         f"{from_si(found.height, unit, 'length'):.{digits}f}", weight, mark,
                         f"{from_si(found.smallest, unit, 'length'):.{min(digits, 2)}f}",
                         f"{found.smallest_as}{smallest}"))
    lines = table((Column("section"), Column(f"top width\n{unit}", "number"), Column(f"height\n{unit}", "number"),
                   Column(f"mass of one\n{SHOWN[system]['mass per length'].unit}", "number"), Column(""),
                   Column(f"smallest\nsheave, {unit}", "number"), Column("which\ndiameter")), rows, width=width,
                  signs=signs)
    if marked:
        lines.append("† from memory, not verified")
    return [*lines, *wrapped(f"Sources: {'; '.join(cite(key) for key in sources)}", width, rest="  ")]
