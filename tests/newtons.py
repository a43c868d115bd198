"""Find a force that is told in newtons alone: a reader who thinks in pounds force meets none."""

import html
import re

# A figure and its newtons, which neither belong to a torque nor to a stress, and its pounds force.
_ALONE = re.compile(r"(?<![\w.])(?:\d[\d.,]*)\s?N\b(?!\s?(?:m|mm)\b|\s?/)(?!,? \(?[\d.]+ lbf\b)")
_TORQUE_ALONE = re.compile(
    r"(?<![\w.])\d[\d.,]*\s?N\s?mm?\b(?!(?: at most)? \([\d.]+ in lbf\))(?!/)"
)
# A check's row in a table of the terminal: its unit a column of its own, the other one row below.
_ROW = re.compile(r"^ +\S+ .* {2}N(?: mm)?  .*\n(?=.* {2}(?:in )?lbf(?: |$))", re.MULTILINE)


def words_of(page: str) -> str:
    """A page's words, its drawings' too, without tags, styles and scripts."""
    page = re.sub(r"<(style|script)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]+>", " ", page))


def alone(text: str) -> list[str]:
    """What a text says in N, N m or N mm alone, with the words before it."""
    text = re.sub(r"\s+", " ", _ROW.sub("", text))
    found = [*_ALONE.finditer(text), *_TORQUE_ALONE.finditer(text)]
    return [text[max(0, one.start() - 60) : one.end() + 20] for one in found]
