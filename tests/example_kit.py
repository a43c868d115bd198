"""A kit for the tests: our own scenario, written to a file as a user would."""

from barbwright.job.reading import read_job
from barbwright.jobs.chain import plan_chain

JOB = {
    "tube_id": "0.170in",
    "tube_od": "0.250in",
    "tube_material": "LLDPE",
    "bit": "15/64",
    "pressure": "45psi",
    "relief": "55psi",
    "material": "mjf_pa12",
    "wood": "oak northern red",
}
CHAIN = {
    "girth": "119 cm",
    "spacing": "150 mm",
    "supply_length": "3 m",
    "species": "red oak",
    "volume_per_tree": "4 L",
    "vessel_volume": "12 L",
    "air_head": "6 L",
}


def toml(value):
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (int, list)):
        return repr(value).replace("'", '"')
    text = value.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text) + '"'


# A driver and a fork come with every kit; the tests that look for them say so, others go without.
NO_TOOLS = {"driver": "{ quantity = 0 }", "fork": "{ quantity = 0 }"}


def kit_text(
    name="test_kit", title="A kit", job=None, chain=None, parts=None, note="", tools=False
):
    if not tools:
        parts = {**NO_TOOLS, **(parts or {})}
    lines = [f"name = {toml(name)}", f"title = {toml(title)}", f"note = {toml(note)}", "[job]"]
    lines += [f"{key} = {toml(value)}" for key, value in (JOB if job is None else job).items()]
    if parts is not None:
        lines += ["[parts]", *(f"{kind} = {row}" for kind, row in parts.items())]
    chain = CHAIN if chain is None else chain
    if chain:
        lines += ["[chain]", *(f"{key} = {toml(value)}" for key, value in chain.items())]
    return "\n".join(lines) + "\n"


def write_kit(folder, **more):
    path = folder / "kit.toml"
    path.write_text(kit_text(**more), encoding="utf-8")
    return path


def chain_of(chain=None, job=None, options=None, settings=()):
    made = read_job({}, {**JOB, **(job or {})}, settings=settings)
    given = {key: value for key, value in {**CHAIN, **(chain or {})}.items() if value is not None}
    return plan_chain(made, options or {}, given)
