"""A small catalogue as a file, and ways to spoil it."""

GOOD = """
name = "trial"
parts = ["barb", "tee"]
tubes = ["LLDPE 4 x 6 mm", "aquarium PVC 4 x 6 mm"]
bits = ["6mm", "15/64"]
pressures = ["2bar", "3bar..4bar"]
steps = 2
materials = ["mjf_pa12", "fff_pla"]
woods = ["maple sugar"]

[job]
temperature = "25C"
set = { contact = "6mm", outright_seat_mm = "2mm" }

[make]
verdicts = ["pass", "caution"]
formats = ["step", "stl"]
"""


def written(folder, text=GOOD):
    path = folder / "trial.toml"
    path.write_text(text)
    return str(path)
