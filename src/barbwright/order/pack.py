"""The order's zip: the same bytes for the same parts, in any process."""

from __future__ import annotations

import dataclasses
import hashlib
import io
import json
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from barbwright.aside import writing
from barbwright.errors import BuildError, Fault, InputError
from barbwright.export.door import write_bytes
from barbwright.jobs.record import dump
from barbwright.order.buyer import Buyer
from barbwright.order.documents import (
    first_article_csv,
    inspection_html,
    manifest_json,
    order_csv,
    order_html,
    quote_html,
    readme_txt,
)
from barbwright.order.picture import standing_png
from barbwright.order.plate import whole_order_3mf
from barbwright.order.record import Order, PartLine, plan_order
from barbwright.order.sheet import order_pdf
from barbwright.order.verify import Sums

# The earliest time a zip can say.
_TIME = (1980, 1, 1, 0, 0, 0)
_LEVEL = 9
_UNIX, _PLAIN_FILE = 3, 0o100644


@dataclass(frozen=True)
class Packed:
    """What was written.

    Attributes
    ----------
    path : Path
        The zip.
    inspection : Path
        The inspection page beside it, the same as in the zip.
    sha256 : str
        Checksum of the zip.
    files : tuple of (str, int)
        Path in the zip and size of each file [byte].
    """

    path: Path
    inspection: Path
    sha256: str
    files: tuple[tuple[str, int], ...]


def order_files(order: Order) -> dict[str, bytes]:
    """Return every file of an order by its path inside the order's folder.

    Parameters
    ----------
    order : Order
        Verified parts.

    Returns
    -------
    dict of str to bytes
        The manifest last.
    """
    pictures = {
        part.number: standing_png(part.verified.vertices, part.verified.triangles, part.number)
        for part in order.parts
    }
    files: dict[str, bytes] = {}
    for part in order.parts:
        files |= part.files()
    files[f"{order.name}_{order.pieces}x_mm.3mf"] = whole_order_3mf(order)
    files |= {
        "README.txt": readme_txt(order),
        "order.pdf": order_pdf(order, pictures),
        "order.html": order_html(order, pictures),
        "order.csv": order_csv(order),
        "quote_card.html": quote_html(order),
        "first_article.csv": first_article_csv(order),
        "inspection.html": inspection_html(order),
    }
    return {**files, "manifest.json": manifest_json(order, files)}


def zip_bytes(folder: str, files: dict[str, bytes]) -> bytes:
    """Return files as a zip: sorted, at one fixed time, with plain permissions.

    Parameters
    ----------
    folder : str
        The one folder that all of it unpacks into.
    files : dict of str to bytes
        Content by path.

    Returns
    -------
    bytes
        The same for the same content under one version of zlib.
    """
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        for path, content in sorted(files.items()):
            entry = zipfile.ZipInfo(f"{folder}/{path}", _TIME)
            entry.create_system = _UNIX
            entry.external_attr = _PLAIN_FILE << 16
            entry.compress_type = zipfile.ZIP_DEFLATED
            packed.writestr(entry, content, compresslevel=_LEVEL)
    return stream.getvalue()


def write_order(order: Order, output: Path, *, force: bool = False) -> Packed:
    """Write an order's zip and its inspection page.

    Parameters
    ----------
    order : Order
        Verified parts.
    output : Path
        Folder to write into; it is made.
    force : bool
        Replace a zip of this name with other content.

    Returns
    -------
    Packed
        What was written.

    Raises
    ------
    InputError
        When another order has this name already.
    BuildError
        When it cannot be written, or reads back otherwise.
    """
    output = Path(output)
    files = order_files(order)
    content = zip_bytes(order.name, files)
    _read_back(content, order.name, files)
    path = output / f"{order.name}.zip"
    page = output / inspection_name(path.name)
    for target, new in ((path, content), (page, files["inspection.html"])):
        if target.exists() and not force and not (target.is_file() and target.read_bytes() == new):
            what = "another file of this name is there"
            raise InputError(Fault(what, str(target), do="--force, or another --number or -o"))
    with writing("cannot make the folder", output, "name another with -o"):
        output.mkdir(parents=True, exist_ok=True)
    write_bytes(path, content)
    write_bytes(page, files["inspection.html"])
    listed = tuple((name, len(data)) for name, data in sorted(files.items()))
    return Packed(path, page, hashlib.sha256(content).hexdigest(), listed)


def _read_back(content: bytes, folder: str, files: dict[str, bytes]) -> None:
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        found = {name: packed.read(name) for name in packed.namelist()}
    if found != {f"{folder}/{path}": data for path, data in files.items()}:
        raise BuildError(Fault("the zip reads back otherwise than packed", given=folder))


def pack_order(
    parts: Sequence[PartLine],
    output: Path,
    number: str | None = None,
    anyway: bool = False,
    *,
    title: str = "",
    finish: str | None = None,
    buyer: Buyer | None = None,
    force: bool = False,
    just_made: Sums | None = None,
) -> Path:
    """Verify made parts again and pack them for a print service.

    Parameters
    ----------
    parts : sequence of (Path, int, int, str)
        Folder, quantity, spares and note of each.
    output : Path
        Folder to write into.
    number : str, optional
        The order's number; else a checksum of what is ordered.
    anyway : bool
        Order parts that did not pass as well, marked.
    title : str
        The user's own words for the sheet.
    finish : str, optional
        Instead of the process' default.
    buyer : Buyer, optional
        Who orders.
    force : bool
        Replace a zip of this name.
    just_made : mapping of Path to mapping, optional
        As `verify_parts` takes it.

    Returns
    -------
    Path
        The zip; the inspection page stands beside it.

    Raises
    ------
    InputError, CheckFailedError, BuildError
        As `plan_order` and `write_order`.
    """
    order = plan_order(
        parts,
        number=number,
        anyway=anyway,
        title=title,
        finish=finish,
        buyer=buyer,
        just_made=just_made,
    )
    return write_order(order, output, force=force).path


def inspection_name(zipped: str) -> str:
    """Return the name of the inspection page beside an order's zip."""
    return zipped.replace("order-", "inspection-", 1).removesuffix(".zip") + ".html"


def pack_kit(
    parts: Sequence[PartLine],
    folder: Path,
    *,
    anyway: bool,
    title: str,
    buyer: Mapping[str, object] | None = None,
    just_made: Sums | None = None,
) -> tuple[Path, bool, tuple[Path, ...]]:
    """Pack a built kit's order into its folder; keep one that is there and says the same.

    Parameters
    ----------
    parts : sequence of (Path, int, int, str)
        Folder, quantity, spares and note of each.
    folder : Path
        The kit's folder; the build has just verified its parts.
    anyway : bool
        Order parts that did not pass as well, marked.
    title : str
        The kit's own words for the sheet.
    buyer : mapping, optional
        The kit's table of who orders.
    just_made : mapping of Path to mapping, optional
        As `verify_parts` takes it: parts that were kept are not among them.

    Returns
    -------
    tuple of Path, bool and tuple of Path
        The zip, whether it was kept, and older zips that say something else, with their
        inspection pages and those of other orders.

    Raises
    ------
    InputError, CheckFailedError, BuildError
        As `plan_order` and `write_order`.
    """
    wanted = [line for line in parts if line[1] + line[2] > 0]
    who = Buyer.of(buyer or {})
    there = sorted(folder.glob("order-*.zip"))
    current = [path for path in there if _says(path, wanted, who)]
    if current:
        path, kept = current[0], True
    else:
        path, kept = (
            pack_order(
                wanted,
                folder,
                anyway=anyway,
                title=title,
                buyer=who,
                force=True,
                just_made=just_made,
            ),
            False,
        )
    own = {path.name, inspection_name(path.name)}
    # A page of another order left alone is as misleading as its zip.
    pages = sorted(folder.glob("inspection-*.html"))
    return path, kept, tuple(old for old in (*there, *pages) if old.name not in own)


def _says(path: Path, parts: Sequence[PartLine], buyer: Buyer) -> bool:
    """Return whether a zip orders exactly these parts as they are now, for this buyer."""
    try:
        with zipfile.ZipFile(path) as packed:
            name = next(name for name in packed.namelist() if name.endswith("/manifest.json"))
            body = json.loads(packed.read(name))
        rows = [
            (row["record_sha256"], row["quantity"], row["spares"], row["note"])
            for row in body["parts"]
        ]
        if body["buyer"] != dataclasses.asdict(buyer):
            return False
    except (OSError, zipfile.BadZipFile, StopIteration, ValueError, KeyError, TypeError):
        return False
    now = []
    for folder, quantity, spares, note in parts:
        records = sorted(folder.glob("part*.json"))
        if not records:
            return False
        try:
            said = dump(json.loads(records[0].read_bytes()))
        except (OSError, ValueError, RecursionError):
            return False
        now.append((hashlib.sha256(said).hexdigest(), quantity, spares, note))
    return sorted(rows) == sorted(now)
