"""What people do with their hands: a small line drawing of each act, and the rules for it.

One function draws an act; sheet, field card and front page show the same drawing, with the rules
of that act beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from math import cos, radians, sin
from string import Formatter

from barbwright.checks.result import says_nought
from barbwright.checks.table import fill_rule
from barbwright.design.single import single
from barbwright.design.tapping import tap_window
from barbwright.report.rules import Rule, said_once
from barbwright.report.words import PartReport
from barbwright.say import Voice, millimetres

# Width and height of a drawing and its letters, in its own units: 31 mm wide it is read at 7.5 pt.
WIDE, HIGH, _LETTER = 40.0, 36.0, 3.4
_STROKE, _THIN = 0.6, 0.35
_WOOD, _BARK, _PART, _TOOL, _TUBE = "#e9dcc3", "#c9b48f", "#fff", "#d5e0ea", "#d9e6f2"

Point = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Act:
    """One thing done by hand.

    Attributes
    ----------
    title : str
        In a few words.
    svg : str
        Its drawing, with words for those who cannot see it; empty for rules without an act.
    rules : tuple of Rule
        What must be kept to while doing it.
    """

    title: str
    svg: str
    rules: tuple[Rule, ...]


class _Pen:
    """Marks of one drawing; y grows downwards."""

    def __init__(self) -> None:
        self.marks: list[str] = []

    def area(self, points: Iterable[Point], fill: str = _PART) -> None:
        corners = " ".join(f"{x:g},{y:g}" for x, y in points)
        self.marks.append(f'<polygon points="{corners}" fill="{fill}"/>')

    def box(self, left: float, top: float, right: float, low: float, fill: str = _PART) -> None:
        self.area([(left, top), (right, top), (right, low), (left, low)], fill)

    def disc(self, x: float, y: float, radius: float, fill: str = _PART) -> None:
        self.marks.append(f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="{fill}"/>')

    def line(self, *points: Point, width: float = _STROKE, dashed: bool = False) -> None:
        corners = " ".join(f"{x:g},{y:g}" for x, y in points)
        dash = ' stroke-dasharray="1 0.8"' if dashed else ""
        self.marks.append(
            f'<polyline points="{corners}" fill="none" stroke-width="{width:g}"{dash}/>'
        )

    def arrow(self, *points: Point, width: float = 0.8) -> None:
        self.line(*points, width=width)
        (x0, y0), (x, y) = points[-2:]
        long = ((x - x0) ** 2 + (y - y0) ** 2) ** 0.5
        along, across = ((x - x0) / long, (y - y0) / long), ((y0 - y) / long, (x - x0) / long)
        base = (x - 2.2 * along[0], y - 2.2 * along[1])
        self.area(
            [
                (round(base[0] + way * across[0], 2), round(base[1] + way * across[1], 2))
                for way in (-1.1, 1.1)
            ]
            + [(x, y)],
            "#000",
        )

    def cross(self, x: float, y: float) -> None:
        self.line((x - 1.8, y - 1.8), (x + 1.8, y + 1.8), width=1.0)
        self.line((x - 1.8, y + 1.8), (x + 1.8, y - 1.8), width=1.0)

    def word(self, x: float, y: float, text: str, anchor: str = "start") -> None:
        self.marks.append(f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(text)}</text>')

    def finger(self, x: float, y: float, way: int) -> None:
        """Draw a fingertip that presses at a point, coming from above (-1) or below (1)."""
        self.marks.append(
            f'<path d="M{x - 2.4:g} {y + 9 * way:g} L{x - 2.4:g} {y + 2.6 * way:g} '
            f"Q{x:g} {y - 2.4 * way:g} {x + 2.4:g} {y + 2.6 * way:g} L{x + 2.4:g} {y + 9 * way:g}"
            f'" fill="#f4ded0"/>'
        )
        self.line((x - 1, y + 3.6 * way), (x + 1, y + 3.6 * way), width=_THIN)

    def wood(self, bark: float) -> None:
        """Draw bark and sound wood with their surface at a height."""
        self.box(1.0, bark + 2.6, 39.0, 27.0, _WOOD)
        self.box(1.0, bark, 39.0, bark + 2.6, _BARK)

    def ball_end_on(self, x: float, y: float) -> None:
        """Draw a hub that is seen along its arms: the ball, a barb, its bore."""
        self.disc(x, y, 2.8)
        self.disc(x, y, 1.9)
        self.disc(x, y, 0.8, "#000")


def _drawn(pen: _Pen, captions: Sequence[str], told: str) -> str:
    """Return a drawing with its figures below it, and what it shows in words."""
    for index, text in enumerate(captions[:2]):
        pen.word(WIDE / 2.0, 31.2 + 3.9 * index, text, "middle")
    said = "; ".join([told, *captions])
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {HIGH:g}" role="img" '
        f'aria-label="{escape(said)}" stroke="#000" stroke-width="{_STROKE}" '
        f'stroke-linejoin="round" stroke-linecap="round" font-family="sans-serif" '
        f'font-size="{_LETTER}"><g>{"".join(pen.marks)}</g></svg>'
    ).replace("<text ", '<text fill="#000" stroke="none" ')


def warm(force: str) -> str:
    """Return a tube's end in hot water, then pushed over the barbs; a force in words."""
    pen = _Pen()
    pen.area([(2, 12), (4, 27), (15, 27), (17, 12)])
    pen.area([(2.6, 16), (4, 27), (15, 27), (16.4, 16)], _TUBE)
    pen.box(7.5, 3, 11.5, 23)
    for x in (4.5, 13.5):
        pen.line((x, 10), (x + 0.9, 8.5), (x - 0.3, 7), (x + 0.9, 5.5), (x, 4), width=_THIN)
    nose = [(39, 9.8), (34.5, 9.8), (34.5, 9.6), (33, 9.6), (33, 8.6), (29.8, 9.9), (29.8, 8.6),
            (25.5, 10.2)]  # fmt: skip
    pen.area([*nose, *((x, 24.0 - y) for x, y in reversed(nose))])
    pen.box(18.5, 9.2, 27, 14.8, _TUBE)
    pen.box(35.5, 6, 39, 18)
    pen.arrow((20, 19), (31, 19))
    captions = (force, "warm, with a tool") if force else ("warm, with a tool",)
    return _drawn(pen, captions, "Warm the tube's end in hot water, then push it over the barbs")


def aside(force: str, *, seated: bool = True) -> str:
    """Return a tied line and nothing that pulls sideways: at an arm's end, or at a barb alone."""
    pen = _Pen()
    if seated:
        pen.box(0.5, 0.5, 11, 27, _WOOD)
        pen.box(11, 0.5, 13.6, 27, _BARK)
    else:
        pen.box(9, 0.5, 13.6, 27, _TOOL)
    for top, low in ((0.5, 8), (21, 27)):
        pen.box(17.2, top, 20.8, low, _TUBE)
    pen.box(17.9, 7, 20.1, 22)
    if seated:
        pen.area([(4.5, 13.3), (18, 12.8), (18, 16.2), (4.5, 15.7)])
        pen.disc(19, 14.5, 3)
    else:
        pen.box(17.2, 13, 20.8, 16)
    pen.box(9.5, 2.4, 22.2, 4.2, "#555")
    pen.box(9.5, 24, 22.2, 25.8, "#555")
    pen.word(24, 4.8, "tied")
    pen.word(24, 26.2, "tied")
    pen.arrow((22, 9.5), (30.5, 9.5))
    pen.cross(34.5, 9.5)
    captions = (force, "at most, sideways") if force else ("nothing sideways",)
    told = (
        "The line is tied to the trunk; nothing pulls an arm sideways"
        if seated
        else "The line is tied before and behind the barb; nothing pulls it sideways"
    )
    return _drawn(pen, captions, told)


def ticks(count: int, travel: str) -> str:
    """Return a tip stopped by hand, and the same tapped in by so many ticks."""
    pen = _Pen()
    bark, shown = 14.6, min(max(count, 1), 6)
    pen.wood(bark)
    step = 8.0 / shown
    for x, sunk in ((11.0, 0.0), (29.0, 8.0)):
        top = 4.4 + sunk
        pen.area(
            [(x - 2, top), (x + 2, top), (x + 1.3, 20 + sunk * 0.8), (x - 1.3, 20 + sunk * 0.8)]
        )
        pen.disc(x, top - 1.0, 2.8)
        for index in range(shown):
            y = bark - 0.9 - index * step
            if not sunk:
                pen.line((x - 1.1, y), (x + 1.1, y), width=_THIN)
    pen.line(
        (14.4, bark - 8.4), (15.6, bark - 8.4), (15.6, bark - 0.4), (14.4, bark - 0.4), width=_THIN
    )
    pen.word(17, bark - 3.2, f"{count}")
    pen.arrow((20, bark - 4.4), (25, bark - 4.4))
    said = "1 tick" if count == 1 else f"{count} ticks"
    told = f"The tip stops by hand; then it is tapped in by {said}, counted where they go under"
    captions = ("by hand, then", f"{said}, {travel}")
    return _drawn(pen, captions, told)


def blow(captions: Sequence[str]) -> str:
    """Return a light blow on the middle of a driver that stands on its part."""
    pen = _Pen()
    pen.wood(23.4)
    pen.area([(14.4, 17), (17.6, 17), (17, 27), (15, 27)])
    pen.box(12.2, 7.4, 19.8, 21.4, _TOOL)
    for left, right in ((5, 12.2), (19.8, 27)):
        pen.box(left, 10.6, right, 13, _TOOL)
    pen.ball_end_on(16, 18.4)
    pen.box(12.4, 0.6, 19.6, 4.2, "#888")
    pen.box(19.6, 1.6, 38.5, 3.2, _PART)
    pen.line((16, 0), (16, 27), width=_THIN, dashed=True)
    pen.arrow((28, 6.4), (28, 13))
    pen.word(29.3, 8, "light")
    return _drawn(pen, captions, "Light blows on the middle of the driver, in line with the tip")


def turn(captions: Sequence[str]) -> str:
    """Return a connector seen from above, turned free in its driver by two fingertips."""
    pen = _Pen()
    pen.area([(3, 11.8), (15, 11.8), (15, 17.2), (3, 17.2)], _TOOL)
    pen.area([(25, 11.8), (37, 11.8), (37, 17.2), (25, 17.2)], _TOOL)
    pen.disc(20, 14.5, 6.4, _TOOL)
    pen.disc(20, 14.5, 3.2)
    pen.finger(5.6, 11.4, -1)
    pen.finger(34.4, 17.6, 1)
    around = [
        (20 + 10 * cos(radians(a)), 14.5 + 10 * sin(radians(a))) for a in range(-115, -29, 17)
    ]
    pen.arrow(*((round(x, 2), round(y, 2)) for x, y in reversed(around)))
    told = "Seen from above: two fingertips turn the connector free in its driver"
    return _drawn(pen, captions, told)


def wedge(captions: Sequence[str]) -> str:
    """Return a fork that is tapped in lightly under the ball, lying flat on the bark."""
    pen = _Pen()
    pen.wood(21.4)
    pen.area([(24.6, 13), (27.4, 13), (26.8, 27), (25.2, 27)])
    stairs = [(7.0, 21.4), (7.0, 10.4), (15.5, 10.4)]
    for index in range(5):
        x, y = 15.5 + 4.0 * index, 12.4 + 1.8 * index
        stairs += [(x, y), (x + 4.0, y)]
    pen.area([*stairs, (35.5, 21.4)], _TOOL)
    pen.ball_end_on(25.6, 13.4)
    pen.arrow((0.6, 15), (6.2, 15))
    return _drawn(pen, captions, "The fork lies flat on the bark and is tapped in under the ball")


def pull(captions: Sequence[str]) -> str:
    """Return the pull by a scale, in line with the tip, hooked under the ball."""
    pen = _Pen()
    pen.wood(23.4)
    pen.area([(18.4, 17), (21.6, 17), (21, 27), (19, 27)])
    pen.line((12, 19.6), (20, 10.6), (28, 19.6))
    pen.box(10, 19.4, 30, 21.6, _TOOL)
    pen.ball_end_on(20, 16.6)
    pen.disc(20, 10, 0.9)
    pen.box(15, 3.6, 25, 9.2)
    pen.line((17, 6.4), (20.4, 5.4), width=_THIN)
    pen.arrow((20, 3.6), (20, 0.2))
    pen.arrow((27.5, 10), (33.5, 6.2))
    pen.cross(36, 4.4)
    told = "A scale pulls the fork's hook under the ball straight along the tip, never aside"
    return _drawn(pen, captions, told)


@dataclass(frozen=True, kw_only=True)
class _Shown:
    """What a drawing may say: figures by name, as rules say them, and the parts themselves."""

    figures: Mapping[str, str]
    parts: Sequence[PartReport]
    voice: Voice

    def figure(self, *names: str) -> str:
        """Return the first of these figures that a rule names; empty where none does."""
        return next((self.figures[name] for name in names if name in self.figures), "")


def _warm(shown: _Shown) -> str:
    return warm(shown.figure("push_on_warm_n"))


def _aside(shown: _Shown) -> str:
    seated = any(part.design.tip is not None for part in shown.parts)
    return aside(shown.figure("side_force_n"), seated=seated)


def _ticks(shown: _Shown) -> str:
    tipped = next((part.design for part in shown.parts if part.design.tip is not None), None)
    window = None if tipped is None else tap_window(tipped)
    if tipped is None or window is None:
        return ""
    tip = single(tipped).tip
    assert tip is not None
    return ticks(window.ticks, f"{millimetres(window.ticks * tip.tick_pitch_mm)} mm")


def _blow(shown: _Shown) -> str:
    driver, tip = shown.figure("driver_hammer_g"), shown.figure("hammer_g")
    said = [f"driver: {driver} g"] if driver else []
    # Where the rule of one of the parts names no hammer for a bare tip, their picture shows none.
    blows = [one for part in shown.parts for one in part.outcomes if one.info.id == "drive_buckle"]
    never = any(one.rule and one.info.rule_for(one.advice)[1] != "hammer_g" for one in blows)
    said += ["never on a bare tip"] if never else [f"bare tip: {tip} g"] if tip else []
    return blow(said or ["light, in the middle"])


def _turn(shown: _Shown) -> str:
    first, _, second = shown.figure("wings_nm", "safe_torque_nm").partition(" (")
    return turn([f"{first} at most", f"({second}"] if first else ["two fingertips"])


def _wedge(shown: _Shown) -> str:
    most = shown.figure("face_n", "tine_n", "lift_n")
    return wedge([most, "at most"] if most else ["tap it in lightly"])


def _pull(shown: _Shown) -> str:
    if asked := _proving_pull(shown.parts)[0]:
        return pull([shown.voice.demand(asked, "force"), "slowly, in line"])
    most = shown.figure("hook_n", "pull_n")
    return pull([most, "at most, in line"] if most else ["slowly, in line"])


def _proving_pull(parts: Sequence[PartReport]) -> tuple[float, tuple[str, ...]]:
    """Return the greatest pull that proves a seat of these parts, and of which kinds; 0 of none."""
    asked = {
        part.design.kind.name: check.proof_force_n
        for part in parts
        for check in part.proved_in_field
        if check.proof_force_n
    }
    return max(asked.values(), default=0.0), tuple(asked)


def _called(parts: Sequence[PartReport]) -> list[str]:
    """Return what each part is called beside its rules: of several forks, whose fork it is."""
    kinds = [part.design.kind.name for part in parts]
    names = []
    for part, kind in zip(parts, kinds, strict=True):
        own = part.design.own
        host = own.made_for if own is not None and kinds.count(kind) > 1 else None
        names.append(kind if host is None else f"{kind} for {host.kind.name}")
    return names


_PULL, _WEDGE = "Prove it by a pull", "Or wedge it free"
# Title, the checks whose rules belong to it, and its drawing, in the order of work.
_ACTS: tuple[tuple[str, tuple[str, ...], Callable[[_Shown], str]], ...] = (
    ("Warm the tube", ("push_on",), _warm),
    ("Count the ticks", ("drive_squash", "fork_reach"), _ticks),
    ("Tap lightly", ("drive_buckle", "drive_offset", "driver_bearing", "driver_buckle"), _blow),
    (_PULL, ("pull_check", "fork_pull"), _pull),
    ("Nothing aside", ("side_load", "side_turn", "line_pull", "barb_tug"), _aside),
    ("Turn it free", ("twist_out", "pull_out", "driver_wings", "driver_turns"), _turn),
    (_WEDGE, ("fork_bearing", "fork_bend"), _wedge),
)
ACTS_OF_CHECKS = {check: title for title, checks, _ in _ACTS for check in checks}


def acts_of(parts: Sequence[PartReport], voice: Voice) -> tuple[Act, ...]:
    """Return what is done with these parts by hand, each rule said once.

    Parameters
    ----------
    parts : sequence of PartReport
        One part, or those of a kit.
    voice : Voice
        Which units lead.

    Returns
    -------
    tuple of Act
        In the order of work; only acts that these parts have a rule for.
    """
    called = _called(parts)
    rules = said_once(zip(called, (part.outcomes for part in parts), strict=True))
    # What no wings turn is lifted: its rules of freeing stand beside the wedge.
    turned = {name for name, part in zip(called, parts, strict=True) if part.design.hub is not None}
    freeing = [rule for rule in rules if rule.check in {"twist_out", "pull_out"}]
    lifted = [rule for rule in freeing if not turned.intersection(rule.kinds)]
    shown = _Shown(figures=_figures(parts), parts=parts, voice=voice)
    found = []
    for title, checks, draw in _ACTS:
        own = [
            rule
            for check in checks
            for rule in rules
            if rule.check == check and not (rule in lifted and title != _WEDGE)
        ]
        own += lifted if title == _WEDGE else []
        force, kinds = _proving_pull(parts) if title == _PULL else (0.0, ())
        if force:
            # No rule for the hands: what the pass itself rests on, and drawn here.
            told = f"pull every seat once with {voice.demand(force, 'force')}, in line with the tip"
            text = f"{told}, never by an arm or the tube"
            own.insert(0, Rule(check="wood_hold", text=text, kinds=kinds))
        if own:
            found.append(Act(title=title, svg=draw(shown), rules=tuple(own)))
    rest = tuple(rule for rule in rules if rule.check not in ACTS_OF_CHECKS)
    return (*found, Act(title="Also", svg="", rules=rest)) if rest else tuple(found)


def _figures(parts: Sequence[PartReport]) -> dict[str, str]:
    """Return the figures of all rules as these say them: of several parts' the strictest."""
    found: dict[str, tuple[float, str]] = {}
    for outcome in (outcome for part in parts for outcome in part.outcomes if outcome.rule):
        info, advice = outcome.info, outcome.advice
        for _, name, spec, _ in Formatter().parse(info.rule_for(advice)[0]):
            if not name:
                continue
            said = fill_rule(f"{{{name}:{spec}}}", advice, info.rule_rounds, outcome.voice)
            strictest = max if info.rule_rounds == "up" else min
            found[name] = strictest(found.get(name, (advice[name], said)), (advice[name], said))
    return {name: said for name, (_, said) in found.items() if not says_nought(said)}
