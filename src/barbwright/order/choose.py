"""What a user named, as lines of an order: part folders, a kit's folder, or a kit file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from barbwright.errors import Fault, InputError, quoted
from barbwright.jobs.build import plan_kit
from barbwright.jobs.coupon import is_coupon
from barbwright.jobs.kitfile import KitFile, kit_files, load_kit
from barbwright.jobs.make import folder_name
from barbwright.jobs.record import load_record
from barbwright.jobs.resize import Held, made_as, parts_in
from barbwright.order.record import MOST_PIECES, PartLine
from barbwright.order.subject import name_of


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """Lines of an order, and what was decided on the way.

    Attributes
    ----------
    lines : tuple of PartLine
        Folder, quantity, spares and note of each part.
    title : str
        A kit's title; else empty.
    said : tuple of str
        What the user should read.
    left_out : tuple of (Path, str)
        Folders that were named, or stand in one that was, and are not ordered; and why.
    buyer : dict
        A kit's table of who orders; empty without a kit.
    """

    lines: tuple[PartLine, ...]
    title: str
    said: tuple[str, ...]
    left_out: tuple[tuple[Path, str], ...] = ()
    buyer: dict[str, Any] = field(default_factory=dict)


def choose_parts(
    named: Sequence[str],
    made: Path,
    quantities: Sequence[str] = (),
    spares: Sequence[str] = (),
    notes: Sequence[str] = (),
) -> Chosen:
    """Return the parts a user named, with quantities.

    Parameters
    ----------
    named : sequence of str
        Folders of parts, folders that hold part folders, kit files, or names of kits.
    made : Path
        Folder in which a kit's made parts stand in a folder of the kit's name.
    quantities, spares, notes : sequence of str
        ``tee=7`` (a kind or a part number), or a bare value for all.

    Returns
    -------
    Chosen
        Lines in the order named.

    Raises
    ------
    InputError
        When something named holds no part, or a quantity cannot be read.
    """
    lines: list[PartLine] = []
    held = Held((), ())
    title = ""
    buyer: dict[str, Any] = {}
    faults: list[Fault] = []
    for name in named:
        path = Path(name)
        try:
            if path.is_dir() or path.suffix == ".json":
                found = _folders(path)
                lines += [(folder, 1, 0, "") for folder in found.taken]
                held += found
            elif path.suffix == ".toml" or name in kit_files():
                kit = load_kit(name)
                title, buyer = kit.title, kit.buyer
                of_kit, told = _kit_lines(kit, name, made)
                lines += of_kit
                held += told
            else:
                do = "name a part's folder, a kit's folder or a kit file"
                faults.append(Fault("no such folder", given=name, do=do))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    names = [(name_of(line[0]), Path(line[0]).name) for line in lines]
    wanted = _values(quantities, "--quantity", names)
    extra = _values(spares, "--spares", names)
    words = _values(notes, "--note", names)
    chosen: list[PartLine] = []
    for index, (folder, quantity, spare, note) in enumerate(lines):
        chosen.append(
            (
                folder,
                _count(wanted.get(index), quantity, "--quantity"),
                _count(extra.get(index), spare, "--spares"),
                words.get(index, note),
            )
        )
    none = tuple((line[0], "no pieces of it are asked for") for line in chosen if not _any(line))
    held += Held((), none)
    said = list(held.words())
    if not title and not quantities:
        said.append("one piece of each part: --quantity tee=7 for more, or name the kit file")
    return Chosen(
        lines=tuple(chosen),
        title=title,
        said=tuple(said),
        left_out=held.left_out,
        buyer=buyer,
    )


def _any(line: PartLine) -> bool:
    return line[1] + line[2] != 0


def _folders(path: Path) -> Held:
    if path.suffix == ".json":
        return Held((path.parent,), ())
    if is_coupon(path):
        return Held((path,), ())
    held = parts_in(path)
    if any(path.glob("part*.json")):
        # The part's own folder was named: what stands deeper is none of it.
        deeper = tuple((place, "stands in a part's own folder; name it") for place in held.taken)
        return Held((path,), deeper)
    if not held.taken:
        do = "name a folder that make or build wrote"
        raise InputError(Fault("no part in this folder", given=held.without(path), do=do))
    return held


def _kit_lines(kit: KitFile, name: str, made: Path) -> tuple[list[PartLine], Held]:
    """Return a kit's parts as made: its own revision, or a later one that resize made of it.

    A later one is not what the kit file says: that is said with each of them.
    """
    folder = made / kit.name
    there = parts_in(folder)
    newest = {made_as(path): path for path in there.taken}
    lines: list[PartLine] = []
    said: list[str] = []
    faults: list[Fault] = []
    for order, plan in plan_kit(kit, {}).parts:
        if order.quantity is None:
            # Tees and elbows follow from the chain, where the kit does not say how many.
            do = f"name the folders, with --quantity {order.kind}=COUNT"
            faults.append(Fault(f"{order.kind}: the kit says no quantity", kit.name, do=do))
            continue
        quantity, spares = order.quantity, order.spares or 0
        own = folder / folder_name(plan)
        found = newest.get((order.kind, plan.job.grade))
        if found is not None and load_record(found)[2] != plan.revision:
            lines.append((found, quantity, spares, order.note))
            said.append(
                f"WATCH OUT: {order.kind}: the resized {found.name} is ordered, not what the kit "
                f"file says ({own.name}); change the kit file if it is to stay so"
            )
        elif own.is_dir():
            lines.append((own, quantity, spares, order.note))
        else:
            faults.append(
                Fault(f"{order.kind}: the kit's part is not made", given=str(own),
                      do=f"barbwright build {name}, or --made with the folder it wrote into")
            )  # fmt: skip
    if faults:
        raise InputError(faults)
    ordered = {line[0] for line in lines}
    others = tuple(
        (place, "not a part of this kit as its file says now")
        for place in there.taken
        if place not in ordered
    )
    return lines, Held((), (*there.left_out, *others), tuple(said))


def _values(texts: Sequence[str], option: str, names: Sequence[tuple[str, str]]) -> dict[int, str]:
    """Return each line's value: a bare one holds for all, a named one wins."""
    found: dict[int, str] = {}
    faults = []
    for text in sorted(texts, key=lambda text: _split(text, names)[0] != ""):
        key, value = _split(text, names)
        matching = [index for index, name in enumerate(names) if not key or key in name]
        for index in matching:
            found[index] = value
    for text in texts:
        key, value = text.split("=", 1) if "=" in text else ("", text)
        known = not key or any(key in name for name in names)
        if option != "--note" and not known:
            limit = ", ".join(sorted({kind for kind, _ in names}))
            faults.append(Fault(f"{option} names no part of this order", quoted(text), limit))
        if option != "--note" and known and not (value.isascii() and value.isdigit()):
            faults.append(Fault(f"{option} is no whole number", quoted(text), do="such as tee=7"))
    if faults:
        raise InputError(faults)
    return found


def _split(text: str, names: Sequence[tuple[str, str]]) -> tuple[str, str]:
    """Split ``tee=7``; a note may hold an equals sign of its own."""
    key, equals, value = text.partition("=")
    if equals and any(key in name for name in names):
        return key, value
    return "", text


def _count(text: str | None, default: int, option: str) -> int:
    if text is None:
        return default
    if len(text) > 6:
        raise InputError(Fault(f"{option} is out of sense", quoted(text), str(MOST_PIECES)))
    return int(text)
