"""The drawing's font, and drawing libraries that leave nothing in the user's home."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from barbwright.aside import scratch_folder
from barbwright.errors import BuildError, Fault

FONT_FILE = "DejaVuSans.ttf"


def font_folder() -> Path:
    """Return the folder with the drawing's font.

    Raises
    ------
    BuildError
        When the font file is missing.
    """
    import importlib.util

    found = importlib.util.find_spec("matplotlib")
    folder = (
        Path(found.origin).parent / "mpl-data" / "fonts" / "ttf" if found and found.origin else None
    )
    if folder is None or not (folder / FONT_FILE).is_file():
        raise BuildError(
            Fault("the font for the drawing is missing", do="install matplotlib again with pip")
        )
    return folder


@contextmanager
def homeless() -> Iterator[None]:
    """Point the drawing libraries' caches at a folder that is thrown away.

    Both scan the system's fonts on import and keep the list in the user's home;
    neither may leave anything there, and nothing drawn may depend on it.
    """
    names = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "EZDXF_CONFIG_FILE", "MPLCONFIGDIR")
    kept = {name: os.environ.get(name) for name in names}
    with ExitStack() as stack:
        folder = str(stack.enter_context(scratch_folder("fonts")))
        stack.callback(_put_back, kept)
        os.environ["XDG_CACHE_HOME"] = os.environ["XDG_CONFIG_HOME"] = folder
        os.environ.pop("EZDXF_CONFIG_FILE", None)
        # A list that matplotlib has already made may be read: it saves a second.
        if kept["MPLCONFIGDIR"] is None:
            listed = [
                place
                for place in (Path.home() / ".cache" / "matplotlib", Path.home() / ".matplotlib")
                if any(place.glob("fontlist-*.json"))
            ]
            os.environ["MPLCONFIGDIR"] = str(listed[0]) if listed else folder
        listing = Path(folder) / "ezdxf" / "font_manager_cache.json"
        listing.parent.mkdir()
        listing.write_text(_one_font(), encoding="utf-8")
        yield


def _put_back(kept: dict[str, str | None]) -> None:
    for name, value in kept.items():
        if value is None:
            os.environ.pop(name, None)
        else:
            os.environ[name] = value


def _one_font() -> str:
    """Return ezdxf's list of fonts with the drawing's own font alone."""
    face = [str(font_folder() / FONT_FILE), "DejaVu Sans", "Book", 400, 5]
    return json.dumps({"version": 2, "font-faces": [face]})


@cache
def load_ezdxf() -> Any:
    """Import ezdxf with the drawing's own font and nothing else.

    Returns
    -------
    module
        ezdxf.

    Raises
    ------
    BuildError
        When the font file is missing.
    """
    with homeless():
        import ezdxf
        from ezdxf.fonts import fonts
    # Whoever imported ezdxf before us may have filled its list from the system.
    fonts.font_manager.loads(_one_font())
    return ezdxf


@cache
def _cap_widths() -> Any:
    load_ezdxf()
    from ezdxf.fonts import fonts

    return fonts.make_font(FONT_FILE, 1.0)


def text_width(text: str) -> float:
    """Return a text's width over the height of its capitals [-]."""
    return float(_cap_widths().text_width(text))
