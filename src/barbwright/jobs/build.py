"""A whole kit: every part in its quantity, in one folder."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from barbwright import kit
from barbwright.design.part import KINDS
from barbwright.errors import BarbwrightError, CheckFailedError, Fault, NoSizeError
from barbwright.jobs.kitfile import KitFile, PartOrder
from barbwright.jobs.make import MODEL_FORMATS, failure, make_part
from barbwright.jobs.plan import Plan, plan_part


@dataclass(frozen=True)
class KitPlan:
    """Every part of a kit, designed and judged.

    Attributes
    ----------
    kit : KitFile
        The kit.
    parts : tuple of (PartOrder, Plan)
        In the order of the file.
    """

    kit: KitFile
    parts: tuple[tuple[PartOrder, Plan], ...]


def plan_kit(
    kit_file: KitFile, options: Mapping[str, Any], settings: tuple[str, ...] = ()
) -> KitPlan:
    """Return every part of a kit designed and judged, all faults at once.

    Parameters
    ----------
    kit_file : KitFile
        The kit.
    options : mapping
        Inputs that win over the kit's.
    settings : tuple of str
        ``name=value`` texts of --set.

    Raises
    ------
    InputError, NoSizeError
        When an input is wrong, or a part has no size.
    """
    parts: list[tuple[PartOrder, Plan]] = []
    faults: list[Fault] = []
    for order in kit_file.parts:
        kind = KINDS[order.kind]
        job = kit.read_job(
            options,
            kit_file.job,
            settings=settings,
            needs_tip=kind.tip,
            two_ends=kind.arms == 2 and not kind.hub,
        )
        try:
            parts.append((order, plan_part(kind, job)))
        except NoSizeError as error:
            faults += [
                Fault(f"{order.kind}: {fault.what}", fault.given, fault.limit, fault.do)
                for fault in error.faults
            ]
    if faults:
        raise NoSizeError(faults)
    return KitPlan(kit_file, tuple(parts))


def build_kit(
    plan: KitPlan,
    output: Path,
    formats: Collection[str] = MODEL_FORMATS,
    *,
    force: bool = False,
    anyway: bool = False,
    progress: Callable[[str], None] = lambda _: None,
) -> tuple[Path, list[dict[str, Any]]]:
    """Make every part of a kit.

    Parameters
    ----------
    plan : KitPlan
        The kit, designed and judged.
    output : Path
        Folder that holds the kit's own folder.
    formats : collection of str
        Which files to write.
    force, anyway : bool
        As for `make_part`.
    progress : callable
        Told the part number before each part is made.

    Returns
    -------
    tuple of Path and list of dict
        The kit's folder, and each part's document with its quantity.

    Raises
    ------
    CheckFailedError
        When any part fails a check and ``anyway`` was not given; nothing is
        written then.
    """
    failed = [part for _, part in plan.parts if not part.passed]
    if failed and not anyway:
        raise CheckFailedError(
            [
                Fault(f"{part.kind.name}: {fault.what}", fault.given, fault.limit, fault.do)
                for part in failed
                for fault in failure(part).faults
            ]
        )
    from barbwright.reread.worker import Rereader

    folder = Path(output) / plan.kit.name
    bodies = []
    with Rereader() as rereader:
        for order, part in plan.parts:
            progress(part.number)
            try:
                _, body = make_part(
                    part, folder, formats, force=force, anyway=anyway, rereader=rereader
                )
            except BarbwrightError as error:
                raise type(error)(
                    [
                        Fault(f"{part.kind.name}: {fault.what}", fault.given, fault.limit, fault.do)
                        for fault in error.faults
                    ]
                ) from error
            bodies.append({**body, "quantity": order.quantity, "spares": order.spares})
    return folder, bodies
