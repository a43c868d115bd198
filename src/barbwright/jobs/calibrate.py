"""What was found on a coupon turned into what a service prints off, and kept for later parts."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from typing import Any

from barbwright import catalog, units
from barbwright.catalog import Service
from barbwright.design.coupon import BARBS, CENTRE_BARB, CENTRE_TIP, STEP_MM, TIPS
from barbwright.errors import Fault, InputError, quoted
from barbwright.jobs.record import SCHEMA_VERSION
from barbwright.say import bare
from barbwright.units import FaultCollector

# Beyond this it is no print offset but a wrong coupon, unit or number.
MOST_OFFSET_MM = 0.5


def calibrated(
    name: str,
    material: str,
    *,
    barb: str | None = None,
    tip: str | None = None,
    bores: Collection[str] = (),
    posts: Collection[str] = (),
    use_by_default: bool = True,
) -> tuple[Service, tuple[str, ...]]:
    """Return a service as its coupon came out, and what must be said about it.

    Posts were measured by caliper, so where there are any they alone give the
    outside offset; else the barb and the tip that fit give it to half a step.

    Parameters
    ----------
    name, material : str
        Service and print material.
    barb, tip : str, optional
        Numbers of the barb that fits the tube and the tip that seats.
    bores, posts : collection of str
        ``drawn:measured`` pairs, such as ``3mm:2.8mm``.
    use_by_default : bool
        Whether parts of this material take it unasked.

    Returns
    -------
    tuple of Service and tuple of str
        The service, and warnings.

    Raises
    ------
    InputError
        With every fault in the answers.
    """
    collect = FaultCollector()
    key = collect.read(catalog.service_id, name)
    record = collect.read(catalog.find_material, material)
    warnings: list[str] = []
    gauged = [
        STEP_MM * (centre - number)
        for number, centre in (
            (_number(barb, "--barb", BARBS, collect, warnings), CENTRE_BARB),
            (_number(tip, "--tip", TIPS, collect, warnings), CENTRE_TIP),
        )
        if number is not None
    ]
    measured = _pairs(posts, "--post", collect)
    holes = _pairs(bores, "--bore", collect)
    if not gauged and not measured and barb is None and tip is None and not posts:
        collect.add(
            Fault("no outside was answered", do="give --barb, --tip or --post from the coupon")
        )
    if not holes and not bores:
        collect.add(
            Fault("no bore was answered", do="give --bore from the coupon, such as 3mm:2.8mm")
        )
    collect.raise_if_any(InputError)
    assert key is not None
    assert record is not None
    rules = catalog.judged_values()
    outsides = measured or gauged
    reading = rules["calibration_caliper_mm"] if measured else STEP_MM / 2.0
    tolerance = max(
        _half_spread(outsides) + reading,
        _half_spread(holes) + STEP_MM / 2.0,
    )
    tolerance = max(
        tolerance + rules["calibration_batch_mm"], rules["calibration_tolerance_least_mm"]
    )
    if tolerance > record.tolerance_mm:
        warnings.append(
            f"the coupon scatters by {bare(tolerance, 'up', 2)} mm, more than the "
            f"{record.tolerance_mm:.2f} mm of the record of {record.id}: print it again, or "
            "ask the service"
        )
    answers = [f"barb {barb} fits"] if barb is not None else []
    answers += [f"tip {tip} seats"] if tip is not None else []
    answers += [f"post drawn:measured {pair}" for pair in posts]
    answers += [f"bore drawn:passes {pair}" for pair in bores]
    service = Service(
        id=key,
        name=name,
        material=record.id,
        outside_offset_mm=_mean(outsides),
        bore_offset_mm=_mean(holes),
        tolerance_mm=round(tolerance, 4),
        use_by_default=use_by_default,
        answers=tuple(answers),
    )
    return service, tuple(warnings)


def _number(
    text: str | None, option: str, count: int, collect: FaultCollector, warnings: list[str]
) -> int | None:
    if text is None:
        return None
    if not re.fullmatch(r"\s*\d{1,2}\s*", text) or not 1 <= int(text) <= count:
        collect.add(
            Fault(
                f"{option} is no number of the coupon",
                given=quoted(text),
                limit=f"1 to {count}",
                do="give the number engraved beside the one that fits",
            )
        )
        return None
    if int(text) in (1, count):
        warnings.append(
            f"{option} {int(text)} is the last on the coupon: the true offset may be larger"
        )
    return int(text)


def _pairs(texts: Collection[str], option: str, collect: FaultCollector) -> list[float]:
    """Return measured less drawn of each pair [mm]."""
    offsets = []
    read: Callable[..., Any] = units.parse_length
    for text in texts:
        drawn_text, colon, measured_text = text.partition(":")
        if not colon:
            collect.add(
                Fault(f"{option} needs drawn:measured", given=quoted(text), do="such as 3mm:2.8mm")
            )
            continue
        drawn = collect.read(read, drawn_text.strip(), name=option)
        measured = collect.read(read, measured_text.strip(), name=option)
        if drawn is None or measured is None:
            continue
        if abs(measured - drawn) > MOST_OFFSET_MM + 1e-9:
            collect.add(
                Fault(
                    f"{option} is too far off for a print",
                    given=quoted(text),
                    limit=f"{MOST_OFFSET_MM:g} mm",
                    do="check which one was measured, and the unit",
                )
            )
            continue
        offsets.append(float(measured - drawn))
    return offsets


def _mean(values: list[float]) -> float:
    return round(sum(values) / len(values), 4) + 0.0


def _half_spread(values: list[float]) -> float:
    return (max(values) - min(values)) / 2.0


def document(
    service: Service, path: str, warnings: Collection[str], older: Collection[Service] = ()
) -> Mapping[str, Any]:
    """Return a calibration as a JSON document."""
    return {
        "schema_version": SCHEMA_VERSION,
        "command": "calibrate",
        "service": service.name,
        "material": service.material,
        "outside_offset_mm": service.outside_offset_mm,
        "bore_offset_mm": service.bore_offset_mm,
        "tolerance_mm": service.tolerance_mm,
        "use_by_default": service.use_by_default,
        "no_longer_default": [one.name for one in older],
        "answers": list(service.answers),
        "files": [{"path": path, "format": "toml", "unit": "mm"}],
        "warnings": list(warnings),
    }
