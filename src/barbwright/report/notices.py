"""What every output must say; plain words only, so that `check` can say them at no cost."""

NOT_RATED = (
    "Not pressure rated. No long-term data exist for printed parts: proof-test each print batch "
    "with water."
)
NOT_PASSED = "NOT PASSED: not for use under pressure"
