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


def proofs_of(number: str) -> list[dict[str, Any]]:
    """Return the proof tests kept of a part number, by file name.

    Parameters
    ----------
    number : str
        Part number.
    """
    found = []
    for path in sorted((user_folder() / _PROOFS).glob(f"{number}*.json")):
        try:
            body = json.loads(read_text(path))
            require_plain(body)
        except (OSError, ValueError, RecursionError):
            continue
        if isinstance(body, dict) and body.get("part_number") == number:
            found.append(body)
    return found


def proof_sentence(body: dict[str, Any], voice: Voice) -> str:
    """Return a kept proof test in one sentence.

    Parameters
    ----------
    body : dict
        Its document.
    voice : Voice
        Which unit leads.
    """
    batch = f"batch {body['batch']}" if body.get("batch") else "a batch without a name"
    word = _WORDS[body["verdict"]]
    text = f"Proof test of {batch}: {word}, {body['because']}"
    if body.get("usable_kpa") is not None:
        text += f"; to be used at no more than {voice.limit(body['usable_kpa'] / 1000.0)}"
    return text + "."
