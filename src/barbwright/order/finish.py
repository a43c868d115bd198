"""The finish of a part: what an order may ask for, given what its limits were drawn for.

Grip, seal and every limit hang on edges, steps and walls as the process leaves them. A finish that
changes those needs a material record of its own, whose limits follow it; or it is refused.
"""

from __future__ import annotations

import re

from barbwright.catalog import Material, materials
from barbwright.errors import Fault, quoted
from barbwright.order.words import clean

AS_BUILT = {
    "powder bed fusion": "as printed, powder removed, bead-blasted; no tumbling, dyeing, vapour "
    "smoothing or coating",
    "material extrusion": "as printed, supports removed; no sanding of barbs or taper, no solvent "
    "smoothing or coating",
}
OTHER = "as printed, cleaned and fully cured; no sanding of barbs or taper, no coating"

# What leaves edges and sizes as they are.
_KEEPS = re.compile(
    r"as (printed|built)|powder removed|depowdered|support(s|ed)? removed|blasted|blasting"
    r"|natural|raw|uncoated|undyed|cleaned|washed|cured|air[- ]?dried"
)
# What does not: word, and why the drawn limits do not hold behind it.
_CHANGES: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"\b(?:((vapou?r|chemical|solvent)\w*[- ]?)?(smooth|polish)(ed|ing)?\b)"),
     "it melts the skin: edges of the barbs round off, the step to the root, on which grip hangs, "
     "shrinks, and letters fill"),
    (re.compile(r"\b(?:dye\w*|colou?red|tinted|black)"),
     "the dye bath is hot water, in which a polyamide swells: its limits must say so"),
    (re.compile(r"\b(?:tumbl\w*|vibratory|sand(ed|ing)?\b|grind\w*|abrasive\w*)"),
     "it wears edges down first, and nobody publishes by how much: the barbs are edges"),
    (re.compile(r"\b(?:coat\w*|paint\w*|lacquer\w*|plat(ed|ing)\w*|seal\w*|impregnat\w*|infiltrat\w*"
                r"|metallis\w*)"),
     "it adds a layer of unknown thickness to bores, barbs and taper"),
    (re.compile(r"\b(?:anneal\w*|heat[- ]?treat\w*)"),
     "it lets the part shrink and warp, by an amount nobody publishes for these sizes"),
)  # fmt: skip
# The figures that a finish may move, as said to a service.
_LIMITS = {
    "tolerance_mm": "tolerance",
    "min_wall_exposed_mm": "wet walls",
    "min_wall_covered_mm": "covered walls",
    "min_wall_mm": "other walls",
    "min_bore_mm": "bores",
    "min_gap_mm": "edges and steps",
    "min_text_line_mm": "engraved strokes",
}
# From "no" to the end of its clause: what is forbidden is not asked for.
_NEGATED = re.compile(r"\b(no|not|without|never)\b[^;.]*")


def default_finish(material: Material) -> str:
    """Return the finish that a material's limits were drawn for."""
    if material.finish:
        return clean(material.finish)
    process = material.process_52900
    return next((text for name, text in AS_BUILT.items() if name in process), OTHER)


def finish_limits(material: Material) -> str:
    """Return what the limits of a finish of its own rest on; empty for the process' usual finish.

    Grouped by status, so that a service or buyer takes none for published that is not.

    Parameters
    ----------
    material : Material
        As recorded with the part.
    """
    if not material.finish:
        return ""
    groups: dict[str, list[str]] = {}
    for name, word in _LIMITS.items():
        groups.setdefault(material.provenance[name].status, []).append(word)
    said = [f"{status}: {', '.join(words)}" for status, words in groups.items()]
    return f"{'; '.join(said)}. Measure a sample behind this finish before you rely on them"


def finish_fault(material: Material, asked: str) -> Fault | None:
    """Return why a finish cannot be ordered of a material, if it cannot.

    Parameters
    ----------
    material : Material
        As recorded with the part; its limits are those of its own finish.
    asked : str
        The user's words.
    """
    own = default_finish(material)
    text = clean(asked).casefold()
    if not text or text == own.casefold():
        return None
    wanted = _NEGATED.sub("", text)
    for words, why in _CHANGES:
        found = words.search(wanted)
        if found and not words.search(_NEGATED.sub("", own.casefold())):
            return Fault(
                f"{material.name}: the finish {quoted(found[0])} is refused: {why}",
                limit=own,
                do=_instead(material, words),
            )
    clauses = [clause.strip() for clause in re.split(r"[,;.]", wanted) if clause.strip()]
    odd = [
        clause
        for clause in clauses
        if not _KEEPS.search(clause) and not any(words.search(clause) for words, _ in _CHANGES)
    ]
    if odd or not clauses:
        return Fault(
            f"{material.name}: it is not known what this finish does to edges and limits",
            quoted(clean(asked)),
            own,
            "leave --finish out, or say it in words of the usual one",
        )
    return None


def _instead(material: Material, words: re.Pattern[str]) -> str:
    """Return what to do for such a finish: the records that have it, of the same process."""
    known = [
        one.id
        for one in materials().values()
        if one.trade_name == material.trade_name
        and words.search(_NEGATED.sub("", one.finish.casefold()))
    ]
    if known:
        return f"make the part of {' or '.join(known)}, whose limits follow it"
    return f"leave --finish out: no record of {clean(material.trade_name)} has this finish"
