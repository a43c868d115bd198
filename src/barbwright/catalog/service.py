"""Print services the user has calibrated: what a coupon from them measured."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from dataclasses import replace as changed
from pathlib import Path
from typing import Any

from barbwright.catalog.folders import load_table, save_user_file, toml_text, user_folder
from barbwright.catalog.lookup import find
from barbwright.errors import Fault, InputError, quoted

_TABLE = "services"


@dataclass(frozen=True, kw_only=True)
class Service:
    """A print service with one material, as its coupon came out.

    Attributes
    ----------
    id, name : str
        Key and name.
    material : str
        Id of the print material.
    outside_offset_mm, bore_offset_mm : float
        What it prints less what was drawn, on outside diameters and on bores [mm].
    tolerance_mm : float
        What it holds once these are allowed for, either way [mm].
    use_by_default : bool
        Whether parts of this material take it unasked.
    answers : tuple of str
        What was found on the coupon.
    """

    id: str
    name: str
    material: str
    outside_offset_mm: float
    bore_offset_mm: float
    tolerance_mm: float
    use_by_default: bool
    answers: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """What it does to a part, in words."""
        return (
            f"{self.name}: outsides come out {self.outside_offset_mm:+.2f} mm and bores "
            f"{self.bore_offset_mm:+.2f} mm, so both are drawn the other way; held to "
            f"{self.tolerance_mm:.2f} mm"
        )

    @property
    def drawn_off_mm(self) -> dict[str, float]:
        """What its models are drawn off the sizes wanted, by feature; empty for nothing [mm]."""
        if self.outside_offset_mm == 0.0 and self.bore_offset_mm == 0.0:
            return {}
        return {"outside": 0.0 - self.outside_offset_mm, "bore": 0.0 - self.bore_offset_mm}

    @property
    def models_sentence(self) -> str:
        """How models differ from drawing and limits, in words; empty where they do not."""
        if not self.drawn_off_mm:
            return ""
        off = ", ".join(f"{feature} {by:+.2f} mm" for feature, by in self.drawn_off_mm.items())
        return (
            f"models compensated for {self.name}: {off}; drawing and limits are the finished "
            "part; not for another service"
        )


def _make(data: dict[str, Any], path: str) -> list[tuple[str, Service]]:
    key = Path(path).stem
    values = {**data, "answers": tuple(data["answers"])}
    return [(key, Service(id=key, **values))]


def services() -> dict[str, Service]:
    """Return the services calibrated so far, by id; read anew each time [-]."""
    return load_table(_TABLE, (user_folder(),), _make)


def find_service(text: str) -> Service:
    """Return the service of a name, any case, words in any order [-]."""
    known = services()
    if not known:
        raise InputError(
            Fault(
                "--service: none is calibrated yet",
                given=quoted(text),
                do="print a `barbwright coupon`, then `barbwright calibrate`",
            )
        )
    # By its whole name first: a search by words sees no difference between accents.
    same = [one for one in known.values() if _plain(one.name) == _plain(text)]
    if len(same) == 1:
        return same[0]
    return find(known, text, "--service", where=f"the folder {user_folder() / _TABLE}")


def _plain(name: str) -> str:
    return unicodedata.normalize("NFKD", name.casefold())


def default_service(material_id: str) -> Service | None:
    """Return the service that a material takes unasked, if there is one.

    Parameters
    ----------
    material_id : str
        Id of the print material [-].

    Raises
    ------
    InputError
        When there is more than one: whichever was taken, parts would be drawn for it.
    """
    found = _defaults(material_id)
    if len(found) > 1:
        raise InputError(
            Fault(
                f"more than one service is the default for {material_id}",
                given=", ".join(one.name for one in found),
                limit="one",
                do=f"--service '{found[0].name}' for this part (`none` for no service), or "
                "calibrate one of them again with --force: it then is the only default",
            )
        )
    return found[0] if found else None


def _defaults(material_id: str) -> list[Service]:
    found = [
        one for one in services().values() if one.use_by_default and one.material == material_id
    ]
    return sorted(found, key=lambda one: one.id)


def clear_older_defaults(service: Service) -> tuple[Service, ...]:
    """Make a saved service the only default of its material.

    Parameters
    ----------
    service : Service
        The one just saved; nothing is done unless it is a default.

    Returns
    -------
    tuple of Service
        Those that were defaults before; each file is rewritten or left as it was.

    Raises
    ------
    BuildError
        When the folder cannot be written.
    """
    if not service.use_by_default:
        return ()
    older = tuple(one for one in _defaults(service.material) if one.id != service.id)
    for one in older:
        save_service(changed(one, use_by_default=False), replace=True)
    return older


def service_id(name: str) -> str:
    """Return a service's key: its name as a plain file name.

    Accents go (``ä`` becomes ``a``); where a letter lost anything, a short checksum of
    the whole name is put behind.

    Parameters
    ----------
    name : str
        As typed [-].

    Raises
    ------
    InputError
        When no letter or digit is in it, or it is too long.
    """
    import hashlib

    folded = _plain(name)
    key = re.sub(r"[^a-z0-9]+", "_", folded.encode("ascii", "ignore").decode()).strip("_")
    if not key or len(name) > 60 or not name.isprintable() or key == "none":
        raise InputError(
            Fault(
                "--service is no name",
                given=quoted(name),
                limit="1 to 60 printable characters, a letter or digit of a to z among them",
                do="name the service, such as --service 'shop in town'",
            )
        )
    if not folded.isascii():
        # Accents and other scripts are lost from the key; two names must not share a file.
        key += "_" + hashlib.sha256(folded.encode()).hexdigest()[:6]
    return key


def save_service(service: Service, *, replace: bool = False) -> Path:
    """Write a service into the user's profile folder; an interrupt leaves the old file or none.

    Parameters
    ----------
    service : Service
        What was found.
    replace : bool
        Whether an earlier calibration of the same name may go.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        When it is there already.
    BuildError
        When the folder cannot be written.
    """
    folder = user_folder() / _TABLE
    path = folder / f"{service.id}.toml"
    if path.exists() and not replace:
        raise InputError(
            Fault("this service is calibrated already", given=str(path), do="--force to replace it")
        )
    return save_user_file(_TABLE, path.name, _toml(service))


def _toml(service: Service) -> str:
    answers = ", ".join(toml_text(answer) for answer in service.answers)
    return (
        "# Written by `barbwright calibrate` from what was found on a coupon. Lengths in mm.\n"
        f"name = {toml_text(service.name)}\n"
        f"material = {toml_text(service.material)}\n"
        f"outside_offset_mm = {float(service.outside_offset_mm)!r}\n"
        f"bore_offset_mm = {float(service.bore_offset_mm)!r}\n"
        f"tolerance_mm = {float(service.tolerance_mm)!r}\n"
        f"use_by_default = {'true' if service.use_by_default else 'false'}\n"
        f"answers = [{answers}]\n"
    )
