"""A good file broken in one of the ways files break, and in those of whoever means harm."""

import json
import re

ODD = ("\x1b[2J", "\u202e", "\x00", "\x7f", "x" * 20000, "../../evil", "/etc/passwd",
"<script>", "",
       "=1+1", "%s", "ÿ", "\n", "-1", "nan")  # fmt: skip
NUMBERS = (0, -1, 1e308, -1e308, 1e9, 1e-300, 10**400, True, None, "5", [], {})


def broken_text(random, text):
    """Any text file: cut, doubled, garbled, emptied."""
    way = random.randrange(9)
    place = random.randrange(len(text) + 1)
    if way == 0:
        return text[:place].encode()
    if way == 1:
        return (text[:place] + random.choice(ODD) + text[place:]).encode("utf-8", "surrogatepass")
    if way == 2:
        content = bytearray(text.encode())
        for _ in range(random.randint(1, 20)):
            content[random.randrange(len(content))] = random.randrange(256)
        return bytes(content)
    if way == 3:
        return random.randbytes(random.choice((0, 1, 100, 5000)))
    if way == 4:
        lines = text.splitlines(keepends=True)
        random.shuffle(lines)
        return "".join(lines).encode()
    if way == 5:
        return text.encode("utf-16")
    if way == 6:
        return ("\ufeff" + text).encode()
    if way == 7:
        lines = text.splitlines(keepends=True)
        del lines[random.randrange(len(lines))]
        return "".join(lines).encode()
    return (text + text[place:]).encode()


def broken_toml(random, text):
    """A profile or kit: one value exchanged, one key misspelt, nested too deep."""
    way = random.randrange(6)
    values = list(re.finditer(r"= *([^\n{]+?)(?=[,\n}])", text))
    if way <= 2 and values:
        found = random.choice(values)
        new = random.choice(("0", "-1", "1e308", "nan", "inf", '"x"', "[]", "{}", "true",
        "1e9", "[[1, 2]]",
                             '"\\u001b[2J"', '"\\u202e"', f'"{"y" * 9000}"', "1979-05-27",
                             "[" * 3000))  # fmt: skip
        return (text[: found.start(1)] + new + text[found.end(1) :]).encode()
    if way == 3:
        return text.replace(random.choice(re.findall(r"\w{4,}", text)), "nosuch", 1).encode()
    return broken_text(random, text)


def broken_json(random, text):
    """A record: one value anywhere in it exchanged, dropped or doubled."""
    if random.random() < 0.15:
        return broken_text(random, text)
    if random.random() < 0.05:
        return b"[" * 100_000
    body = json.loads(text)
    holder, steps = body, random.randint(1, 6)
    for _ in range(steps):
        keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
        if not keys:
            break
        # The job is what a part is made from.
        key = (
            "job"
            if holder is body and "job" in holder and random.random() < 0.7
            else random.choice(keys)
        )
        if isinstance(holder[key], (dict, list)) and holder[key] and random.random() < 0.85:
            holder = holder[key]
            continue
        if random.random() < 0.2:
            del holder[key]
        else:
            old = holder[key]
            if isinstance(old, (int, float)) and random.random() < 0.5:
                holder[key] = old * random.choice((-1, 0, 1e3, 1e-3, 1e12, 1e300))
            else:
                holder[key] = random.choice((*NUMBERS, *ODD))
        break
    if random.random() < 0.02 and isinstance(body, dict):
        body["revision"] = random.choice(("/../../evil", "a" * 300, "..", "é", "a\n"))
    return json.dumps(body, allow_nan=True).encode("utf-8", "surrogatepass")
