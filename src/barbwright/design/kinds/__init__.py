"""The registry: a kind of part is one file here and one row below."""

from barbwright.design.kind import Kind
from barbwright.design.kinds.barb import BARB
from barbwright.design.kinds.cap import CAP
from barbwright.design.kinds.collar import COLLAR
from barbwright.design.kinds.driver import DRIVER
from barbwright.design.kinds.fork import FORK
from barbwright.design.kinds.hub import ELBOW, TEE
from barbwright.design.kinds.inline import TIP

KINDS: dict[str, Kind] = {
    kind.name: kind for kind in (BARB, TIP, ELBOW, TEE, CAP, DRIVER, FORK, COLLAR)
}
# What carries liquid, and what only helps to handle it.
CONNECTORS: dict[str, Kind] = {name: kind for name, kind in KINDS.items() if kind.carries}
TOOLS: dict[str, Kind] = {name: kind for name, kind in KINDS.items() if not kind.carries}
