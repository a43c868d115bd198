"""Proof tests that were judged, kept by part number and batch."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path
from typing import Any

from barbwright.catalog.folders import read_text, save_user_file, user_folder
from barbwright.jobs.read_back import require_plain
from barbwright.jobs.record import dump
from barbwright.say import Voice

_PROOFS = "proofs"
# No proof test of a printed part knows more.
_MOST_KPA = 1e5
_WORDS = {"pass": "PASS", "fail": "FAIL", "cannot_tell": "CANNOT TELL"}


def keep_proof(document: dict[str, Any]) -> Path:
    """Keep a proof test of a named part in the user's profile.

    Parameters
    ----------
    document : dict
        As judged.
    """
    name = proof_name(document["part_number"], document["batch"] or "")
    return save_user_file(_PROOFS, name, dump(document).decode())


def proof_name(number: str, batch: str) -> str:
    """Return the file name under which a batch's proof test is kept.

    Parameters
    ----------
    number, batch : str
        Part number and batch.
    """
    word = re.sub(r"[^a-z0-9]+", "_", batch.casefold()).strip("_")
    if word != batch:
        # B7 and b-7 may be two batches: the word alone would write the one over the other.
        word += f"_{hashlib.sha256(batch.encode()).hexdigest()[:4]}"
    return f"{number}{'-' + word if batch else ''}.json"


def proof_sentences(number: str, voice: Voice) -> list[str]:
    """Return what is kept of a part number's proof tests, a sentence a file, by file name.

    A file that cannot be read is said: whoever proved a batch believes that it counts.

    Parameters
    ----------
    number : str
        Part number.
    voice : Voice
        Which unit leads.
    """
    said = []
    for path in sorted((user_folder() / _PROOFS).glob(f"{number}*.json")):
        body = _read(path)
        if body is None:
            said.append(
                f"A proof test that was kept cannot be read, so it counts for nothing: {path.name} "
                f"in {_PROOFS} of your profile; log it anew, or take the file away."
            )
        # Another part's number may begin as this one does.
        elif body["part_number"] == number:
            said.append(_sentence(body, voice))
    return said


def _read(path: Path) -> dict[str, Any] | None:
    """Return a kept proof test; None where a file is not one."""
    try:
        body = json.loads(read_text(path))
        require_plain(body)
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(body, dict) or body.get("verdict") not in _WORDS:
        return None
    words = (body.get("part_number"), body.get("because"), body.get("batch") or "")
    usable = body.get("usable_kpa", 0.0)
    number = isinstance(usable, (int, float)) and 0.0 <= usable < _MOST_KPA
    sound = all(isinstance(word, str) for word in words) and (usable is None or number)
    return body if sound else None


def _sentence(body: dict[str, Any], voice: Voice) -> str:
    batch = f"batch {body['batch']}" if body.get("batch") else "a batch without a name"
    word = _WORDS[body["verdict"]]
    text = f"Proof test of {batch}: {word}, {body['because']}"
    if body.get("usable_kpa") is not None:
        text += f"; to be used at no more than {voice.limit(body['usable_kpa'] / 1000.0)}"
    return text + "."
