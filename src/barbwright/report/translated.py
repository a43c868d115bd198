"""A finished page in another language: its words are looked up, its numbers stay as they are.

English is the one source. What a page says is taken apart after it was rendered, so no sentence is
written twice: numbers with their units, what is typed, part numbers and the user's own words become
places, and the rest is a line of `profiles/languages`.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from functools import cache
from html import escape, unescape
from html.parser import HTMLParser

from barbwright import catalog

# The user's own words stand between these two, which no text of a user can hold.
_OPEN, _SHUT = "\ue000", "\ue001"
# What is typed stands inside its sentence; its tags go through as these two.
_CODE = {"\ue002": "<code>", "\ue003": "</code>"}
_NUMBER = r"(?:#?\d+(?: \d+)?/\d+|#?\d+(?:\.\d+)?)"
_UNIT = r"(?:psi|kPa|MPa|bar|N m|in lbf|lbf|N|mm|cm|m/s|mL/min|mL|L|min|in|kg|g|K|°C|°F|h|%|m)"
_AMOUNT = rf"{_NUMBER}(?: {_UNIT}(?![\w/]))?"
_KEPT = re.compile(
    rf"{_OPEN}.*?{_SHUT}"
    # What is typed; part numbers; files beside the page.
    "|\ue002[^\ue003]*\ue003"
    r"|`[^`]+`|\b[a-z]+(?:-[a-z]+)?-(?:t\d|b\d|mjf|sls|sla|fff)[\w.-]*|\b\w+(?:\.\w\w)?\.html\b"
    rf"|{_AMOUNT}(?: \({_AMOUNT}\))?"
    # A letter bit.
    r"|\b[A-Z]\b(?= bit\b| \()"
)
_PLACE = re.compile(r"\{(\w+)\}")
_ENDS = re.compile(r"([\s:;,·]*)(.*?)([\s.:;,]*)", re.DOTALL)
# A text that is no line by itself is taken apart here, until each of its pieces is one.
_SEPARATORS = (". ", " · ", " - ", " – ", "; ", ": ", ", ", " and ")
_ATTRIBUTES = re.compile(r'\b(alt|title|aria-label|data-h)="([^"]*)"')
# Nothing in them is said to a reader; nothing in them can carry a mark of its language.
_RAW = frozenset(("style", "script"))
_NO_MARKUP = frozenset(("title", "svg"))
_VOID = frozenset(("meta", "link", "br", "img", "input", "hr", "wbr"))


def own_words(text: str) -> str:
    """Return a text of the user's, marked as one that no language changes."""
    return f"{_OPEN}{text}{_SHUT}" if text else text


class Translator:
    """Sentences of one language.

    Attributes
    ----------
    missing : dict of str to None
        English that no line was found for, its numbers taken out, in the order met.
    """

    def __init__(self, sentences: Mapping[str, str]) -> None:
        self.missing: dict[str, None] = {}
        self._lines: dict[str, str] = {}
        self._patterns: list[tuple[re.Pattern[str], str]] = []
        for english, other in sentences.items():
            key, value = _uncased(english.rstrip(".")), other.rstrip(".")
            if key != english.rstrip("."):
                value = _uncased(value)
            if all(name.isdigit() for name in _PLACE.findall(key)):
                self._lines[key] = value
            else:
                self._patterns.append((_pattern(key), value))

    def text(self, english: str) -> str | None:
        """Return a text in this language, numbers as they are; None where part is not known.

        Parameters
        ----------
        english : str
            As a page holds it, white space and all.
        """
        kept: list[str] = []

        def take(found: re.Match[str]) -> str:
            kept.append(found.group())
            return f"{{{len(kept)}}}"

        shape = _KEPT.sub(take, re.sub(r"\s+", " ", english))
        said = self._said(shape)
        if said is None:
            pieces = shape.split(". ")
            self.missing |= {piece.strip(): None for piece in pieces if self._said(piece) is None}
            return None
        return _filled(said, {str(at): text for at, text in enumerate(kept, 1)})

    def _said(self, shape: str) -> str | None:
        """Return a text whose numbers are places already: as a line, else piece by piece."""
        if not any(letter.isalpha() for letter in _PLACE.sub("", shape)):
            return shape
        parts = _ENDS.fullmatch(shape)
        assert parts is not None
        before, core, after = parts.groups()
        places = _PLACE.findall(core)
        numbers = iter(range(1, len(places) + 1))
        line = self._lines.get(_uncased(_PLACE.sub(lambda _: f"{{{next(numbers)}}}", core)))
        if line is None:
            said = self._by_pattern(core)
        else:
            said = _filled(line, {str(at): f"{{{place}}}" for at, place in enumerate(places, 1)})
        if said is not None:
            return before + (_cased(said) if core[:1].isupper() else said) + after
        for separator in _SEPARATORS:
            for found in re.finditer(re.escape(separator), shape):
                first = self._said(shape[: found.start()])
                rest = None if first is None else self._said(shape[found.end() :])
                if first is not None and rest is not None:
                    joint = self._lines.get("and", "and")
                    return first + separator.replace("and", joint) + rest
        return None

    def _by_pattern(self, core: str) -> str | None:
        for pattern, other in self._patterns:
            match = pattern.fullmatch(_uncased(core))
            if match is not None:
                values = {
                    name: text if name[0] == "_" or name.startswith("name") else self._said(text)
                    for name, text in match.groupdict().items()
                }
                known = {name.lstrip("_"): text for name, text in values.items() if text}
                if len(known) == len(values):
                    return _filled(other, known)
        return None


def _coded(text: str) -> str:
    for mark, tag in _CODE.items():
        text = text.replace(mark, tag)
    return text


def _uncased(text: str) -> str:
    """Return a text with a small letter first, unless its first word is all capitals."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def _cased(text: str) -> str:
    return text[:1].upper() + text[1:]


def _filled(text: str, values: Mapping[str, str]) -> str:
    return _PLACE.sub(lambda found: values[found.group(1)], text)


def _pattern(key: str) -> re.Pattern[str]:
    """Return what finds a line with words in it: numbers by their place, words by their name."""
    pieces = _PLACE.split(key)
    for at in range(1, len(pieces), 2):
        name = pieces[at]
        # Names stay as they are, so no place for them may reach into the next sentence.
        words = r"(?:(?!\. | · |; ).)+?" if name.startswith("name") else ".+?"
        pieces[at] = rf"(?P<_{name}>\{{\d+\}})" if name.isdigit() else rf"(?P<{name}>{words})"
        pieces[at - 1] = re.escape(pieces[at - 1])
    pieces[-1] = re.escape(pieces[-1])
    return re.compile("".join(pieces))


class _Page(HTMLParser):
    """Writes a page again, tags as they are and texts by the translator."""

    def __init__(self, translator: Translator, language: str, pages: Collection[str]) -> None:
        super().__init__(convert_charrefs=False)
        self.out: list[str] = []
        self._translator = translator
        self._language = language
        self._pages = {name: name.replace(".html", f".{language}.html") for name in pages}
        self._open: list[tuple[str, bool]] = []
        self._text = ""

    @property
    def _left_alone(self) -> bool:
        return any(kept for _, kept in self._open)

    def _flush(self) -> None:
        text, self._text = self._text, ""
        if not text:
            return
        english = unescape(text)
        if not english.strip() or self._left_alone:
            self.out.append(_coded(text))
        elif english.strip() in self._pages:
            self.out.append(self._pages[english.strip()])
        else:
            said = self._translator.text(english)
            if said is not None:
                self.out.append(_coded(escape(said, quote=False)))
            elif _NO_MARKUP & {tag for tag, _ in self._open}:
                self.out.append(text)
            else:
                self.out.append(f'<span lang="en">{_coded(text)}</span>')

    def _attribute(self, found: re.Match[str]) -> str:
        said = self._translator.text(unescape(found.group(2)))
        return found.group() if said is None else f'{found.group(1)}="{escape(said)}"'

    def _tag(self, tag: str) -> str:
        text = self.get_starttag_text() or ""
        if tag == "html":
            return text.replace('lang="en"', f'lang="{self._language}"')
        if self._left_alone:
            return text
        if tag == "a":
            for name, other in self._pages.items():
                text = text.replace(f'href="{name}"', f'href="{other}"')
        return _ATTRIBUTES.sub(self._attribute, text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "code" and not attrs:
            self._text += "\ue002"
            return
        self._flush()
        self.out.append(self._tag(tag))
        if tag not in _VOID:
            self._open.append((tag, tag in _RAW or ("translate", "no") in attrs))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._flush()
        self.out.append(self._tag(tag))

    def handle_endtag(self, tag: str) -> None:
        if tag == "code":
            self._text += "\ue003"
            return
        self._flush()
        self._open.pop()
        if tag == "header":
            self.out.append(f'<p class="soft">{escape(_note(self._translator), quote=False)}</p>\n')
        self.out.append(f"</{tag}>")

    def handle_data(self, data: str) -> None:
        self._text += data

    def handle_entityref(self, name: str) -> None:
        self._text += f"&{name};"

    def handle_charref(self, name: str) -> None:
        self._text += f"&#{name};"

    def handle_decl(self, decl: str) -> None:
        self._flush()
        self.out.append(f"<!{decl}>")

    def whole(self, page: str) -> str:
        """Return the page, written again."""
        self.feed(page)
        self.close()
        self._flush()
        return "".join(self.out)


# What each translated page says of itself; the languages' own words for it stand in their tables.
TRANSLATED = (
    "Translated from the English page, not yet read by a crew whose language this is: where the "
    "two differ, the English page holds."
)


def _note(translator: Translator) -> str:
    return translator.text(TRANSLATED) or TRANSLATED


@cache
def translator(language: str) -> Translator:
    """Return the translator of a language, its table read once."""
    return Translator(catalog.sentences(language))


def translated(
    page: bytes, language: str, pages: Collection[str] = (), by: Translator | None = None
) -> bytes:
    """Return a rendered page in another language.

    Parameters
    ----------
    page : bytes
        The English page, the user's own words marked by `own_words`.
    language : str
        One of `catalog.languages()`, or "en", which only takes the marks off.
    pages : collection of str
        Pages beside it that are translated as well; links to them are turned.
    by : Translator, optional
        Whose `missing` is wanted.

    Returns
    -------
    bytes
        UTF-8. What has no line stays English and is marked so (``lang="en"``).
    """
    text = page.decode()
    if language != "en":
        text = _Page(by or translator(language), language, pages).whole(text)
    return text.replace(_OPEN, "").replace(_SHUT, "").encode()
