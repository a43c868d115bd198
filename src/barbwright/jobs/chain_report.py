"""A kit and its solved chain as the objects that its pages speak from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from barbwright.chain.result import ChainResult
from barbwright.jobs.chain import ChainJob
from barbwright.jobs.kitfile import KitFile
from barbwright.jobs.papers import part_report
from barbwright.jobs.plan import Plan
from barbwright.jobs.record import inputs
from barbwright.report.chain_pages import KitReport


def kit_report(
    kit_file: KitFile,
    chain: ChainJob,
    result: ChainResult,
    others: Sequence[Plan] = (),
    warnings: Sequence[str] = (),
    pieces: Mapping[str, int] | None = None,
) -> KitReport:
    """Return everything that a kit's pages say.

    Parameters
    ----------
    kit_file : KitFile
        The kit's own words.
    chain : ChainJob
        The chain's inputs and parts.
    result : ChainResult
        The chain, solved.
    others : sequence of Plan
        The kit's parts that are not in the chain.
    warnings : sequence of str
        What must be said loudly.
    pieces : mapping, optional
        Pieces of each part number [-].
    """
    said = {name: (row["value"], row["from"]) for name, row in inputs(chain.job).items()}
    said |= {name: (given.text, given.origin) for name, given in chain.inputs.items()}
    return KitReport(
        title=kit_file.title,
        note=kit_file.note,
        invented=kit_file.invented,
        result=result,
        tee=part_report(chain.tee),
        elbow=part_report(chain.elbow),
        others=tuple(part_report(part) for part in others if part.design is not None),
        girth_mm=chain.girth_mm,
        girth_given=chain.girth_given,
        tree=chain.tree_words,
        inputs=said,
        warnings=tuple(warnings),
        proof=chain.proof,
        relief_mpa=chain.job.relief_mpa,
        pieces=dict(pieces or {}),
        first_batch=bool(kit_file.buyer.get("first_batch", True)),
    )
