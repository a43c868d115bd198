"""Each judgement number of a chain moves something that is printed of it."""

from __future__ import annotations

import functools

import pytest

from barbwright import catalog
from barbwright.jobs.chain_document import chain_document
from example_kit import chain_of
from other_figures import others

pytestmark = pytest.mark.usefixtures("rated_once")

# What some figures wait for: no spacing and no tube from the vessel, a conductance of one's own.
CHAINS = (
    {},
    {"spacing": None, "supply_length": None},
    {"species": None, "measured": "450 mL, 6 min, 40 psi"},
    {"vessel_volume": "1.5 L", "air_head": "0.7 L"},
)

# Where to look first, for time's sake alone: every row is tried.
FIRST = {"chain_spacing_mm": 1, "chain_supply_length_mm": 1, "chain_measured_spread": 2}


def figures(row, *settings):
    chain = chain_of(CHAINS[row], settings=settings)
    body = chain_document(chain, chain.solve(), None)
    del body["inputs"], body["part_numbers"]
    return body


plain = functools.cache(figures)


@pytest.mark.parametrize("name", [n for n in catalog.judgements() if n.startswith("chain_")])
def test_each_judgement_number_of_a_chain_moves_something_that_is_printed(name: str) -> None:
    for row in sorted(range(len(CHAINS)), key=lambda row: row != FIRST.get(name)):
        for figure in others(name):
            if figures(row, f"{name}={figure}") != plain(row):
                return
    pytest.fail(f"{name} moves nothing")
