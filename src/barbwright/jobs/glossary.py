"""The words of our output, each explained in plain ones; `explain` shows them beside the checks."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Term:
    """A word of the output.

    Attributes
    ----------
    word : str
        As it is printed.
    means : str
        What it means, for someone who meets it for the first time.
    see : tuple of str
        Other words, and checks, that belong to it.
    also : tuple of str
        Other ways to write it.
    """

    word: str
    means: str
    see: tuple[str, ...] = ()
    also: tuple[str, ...] = ()


_TERMS = (
    # What is said of a part as a whole.
    Term(
        "verdict",
        "One word over all checks: PASS, CAUTION or FAIL. It is the worst of them, and names which "
        "checks made it so.",
        ("pass", "caution", "fail", "not checked", "governing"),
    ),
    Term(
        "pass",
        "Every check has at least its design factor to spare at the highest pressure, heat and "
        "worst print. It can still ask for two things: to be proved in the field, and to be "
        "handled by its rules.",
        ("proved", "handling rule", "design factor"),
        ("PASS",),
    ),
    Term(
        "caution",
        "The part can be made, but something is not sure: it passes on what is expected and not at "
        "the worst, or a figure that a check needs was not given.",
        ("not checked", "verdict"),
    ),
    Term(
        "fail",
        "At least one check asks for more than is there. No files are written unless you say "
        "--anyway, and then the part carries an X and the words NOT PASSED.",
        ("verdict", "safety factor"),
    ),
    Term(
        "not checked",
        "A check that could not be made: the line says which figure is missing. It is not a pass.",
        ("caution",),
        ("not_checked",),
    ),
    Term(
        "no size",
        "No drawing satisfies every limit at once. The message names the two that collide and the "
        "nearest input that works.",
        ("verdict", "bit"),
        ("no_size",),
    ),
    Term(
        "bit",
        "The drill bit that makes the hole in the wood; the tip is sized to its hole.",
        ("tip", "print_bore"),
    ),
    Term(
        "governing",
        "The check that decides the verdict: the one that fails or is not sure, else the one with "
        "the least to spare.",
        ("verdict", "least to spare"),
        ("governs",),
    ),
    Term(
        "least to spare",
        "Among checks of use and strength, the one whose safety factor is nearest to what is "
        "asked of it. Limits of the print process stand at 1 by design and are left out.",
        ("safety factor", "governing"),
    ),
    Term(
        "safety factor",
        "What is there over what is needed: strength over stress, grip over thrust. 2 means twice "
        "as strong as the load. It is compared with the design factor.",
        ("design factor",),
        ("SF",),
    ),
    Term(
        "there",
        "Of a check's row: what the part, tube or wood can take, at its worst. `asked` is what it "
        "must take as expected, `at worst` the most it may have to, and the safety factor is the "
        "first over the second.",
        ("safety factor", "design factor"),
        ("asked", "at worst", "can", "must", "numbers", "capacity", "demand"),
    ),
    Term(
        "remedy",
        "What would make a check pass, in the order to try it. What one input away would pass is "
        "worked out and stands under a refusal.",
        ("fail", "caution"),
        ("cure", "cures", "to mend it", "what helps"),
    ),
    Term(
        "worst",
        "The corner at which a check is judged: a lean or a fat part, in the smallest or the "
        "largest hole that the bit may leave, whichever is worse for it.",
        ("lean", "fat", "tolerance"),
        ("corner", "worst case"),
    ),
    Term(
        "design factor",
        "The least safety factor a check asks for, for what the figures do not know. It is a "
        "judgement, printed with its source, and can be set.",
        ("safety factor", "judgement"),
        ("of",),
    ),
    Term(
        "proved",
        "How hard one tree holds a tip cannot be known at a desk. Such a check passes on what is "
        "expected of the wood, and says what to look for on the tree, with a number, and what to "
        "do where it is not seen.",
        ("wood_hold", "wood_seal", "wood_split"),
        ("proved in the field", "proved_in_field", "once proved"),
    ),
    Term(
        "prove",
        "`barbwright prove` judges the drawn part by finite elements, at a desk. That is neither "
        "the proof test, with water, nor a seat that is proved in the field, by a pull.",
        ("converged", "proof test", "proved"),
    ),
    Term(
        "handling rule",
        "Something the part holds only if hands do: a push no harder than so, a hammer no heavier "
        "than so. It is an instruction, not an alarm.",
        ("caution", "pass"),
        ("rule", "rules", "handling"),
    ),
    Term(
        "judgement",
        "A number chosen by us because nobody publishes it. `--set NAME=VALUE` or your own profile "
        "replaces it, and the part then says so. An afternoon at the bench replaces the most "
        "important ones.",
        ("status", "bench"),
    ),
    Term(
        "status",
        "How far a figure can be trusted: seen (we read the source), second-hand, from memory "
        "(named, not opened), own (derived by us), judgement, or measured (by you).",
        ("judgement",),
        ("from memory", "second-hand", "basis", "seen", "published", "own", "sources"),
    ),
    # Worst prints.
    Term(
        "lean",
        "A part printed as small as the process allows: outsides at their least. A lean barb grips "
        "least.",
        ("fat", "tolerance"),
    ),
    Term(
        "fat",
        "A part printed as large as the process allows. A fat barb is hardest to push on, a fat "
        "tip stops earliest in its hole.",
        ("lean", "tolerance"),
    ),
    Term(
        "tolerance",
        "How far a printed size may be off what is drawn. A coupon measures what your print "
        "service really does, and every size gains from it.",
        ("lean", "fat", "coupon", "grade"),
    ),
    # The part.
    Term(
        "barb",
        "A row of cones that a tube is pushed over. Each cone rises to a crest that the tube is "
        "stretched over; behind it the tube shrinks back.",
        ("crest", "root", "land", "stretch"),
    ),
    Term(
        "tee",
        "A connector with two barbs and a tip: water goes by along the line, and down the tip into "
        "the tree. A chain has one for each hole but the last.",
        ("elbow", "hub", "chain"),
        ("tees", "connector", "connectors"),
    ),
    Term(
        "elbow",
        "The connector at a chain's end: one barb and a tip, set after the purge.",
        ("tee", "purge", "chain"),
        ("elbows",),
    ),
    Term("crest", "The widest place of a barb, where a tube is stretched most.", ("root", "land")),
    Term(
        "nose",
        "The end of a barb that the tube meets first.",
        ("barb", "print_nose"),
    ),
    Term("root", "The narrowest place between two crests of a barb.", ("crest", "root_crush")),
    Term(
        "land",
        "The short straight band at a crest or behind it that seals against the tube.",
        ("crest", "barb_seal"),
    ),
    Term(
        "stretch",
        "How much wider a crest is than the tube's bore, in per cent. More holds and seals better "
        "and pushes on harder.",
        ("crest", "push_on"),
        ("expansion",),
    ),
    Term(
        "Shore A",
        "How hard a soft tube is, by a durometer: 55 is a rubber band, 95 a shoe's heel. Printed "
        "in a tube's data sheet; it says how far the tube may be stretched.",
        ("stretch", "push_on"),
        ("shore",),
    ),
    Term(
        "bore",
        "The hole that the water goes through, of a part or of a tube; its diameter is the tube's "
        "inner one, --tube-id.",
        ("outside", "print_bore"),
        ("id", "inner diameter"),
    ),
    Term(
        "outside",
        "The diameter of a tube over its wall, --tube-od.",
        ("bore", "tube_rating"),
        ("od", "outer diameter"),
    ),
    Term(
        "tip",
        "The tapered end that is tapped into the drilled hole and holds by its wedge.",
        ("taper", "lead", "seat", "hand-tight"),
    ),
    Term("taper", "How much a tip grows in width per length: 1:30 is 1 mm in 30.", ("tip",)),
    Term("lead", "The thin end of a tip, which goes into the hole first.", ("tip", "grade")),
    Term(
        "contact",
        "How much of the taper wedges in sound wood: the travel from hand-tight, without what bark "
        "and scatter of the hole take.",
        ("taper", "travel", "wood_hold"),
    ),
    Term(
        "travel",
        "How far a tip is tapped in from hand-tight.",
        ("hand-tight", "tick", "window"),
    ),
    Term(
        "scatter",
        "What print and hole, each within its tolerance, move the place where a tip stops by hand. "
        "(`rate --scatter 20000` draws so many parts by chance within these and counts verdicts.)",
        ("tolerance", "hand-tight"),
    ),
    Term(
        "seat",
        "How deep a tip goes into the tree, bark and all, and the length of tip made for it.",
        ("hand-tight", "tick", "bark"),
    ),
    Term(
        "hand-tight",
        "Where a tip stops when it is pushed into its hole by hand. Taps are counted from there: "
        "the window says from how many millimetres on it holds, and at how many to stop.",
        ("window", "tick", "wood_hold"),
        ("hand tight",),
    ),
    Term(
        "window",
        "The travel from hand-tight between holding enough and splitting the wood. Stop inside it.",
        ("hand-tight", "wood_split", "wood_hold"),
        ("tap window",),
    ),
    Term("tick", "A notch in the side of a tip, to count how far it has gone in from hand-tight.",
         ("hand-tight", "window"), ("ticks",)),
    Term("bark", "What lies over the wood. It holds no tip; the tip is so much longer.", ("seat",)),
    Term("hub", "The thick middle of a tee or elbow, where the bores meet.", ("crossing_bores",)),
    Term(
        "pad",
        "The hexagonal face on top of a tee or elbow, which is struck, and which a driver turns.",
        ("driver", "hub"),
        ("strike pad",),
    ),
    Term("shoulder", "The step where a barb, arm or tip grows into the hub.", ("hub",)),
    Term("arm", "What carries a barb at the side of a hub. Never pull a part by its arms.",
         ("side_load", "hub")),
    Term(
        "mark",
        "The letters sunk into a part: what it is made for, or an X where it has not passed.",
        ("fail",),
    ),
    # Materials and woods.
    Term(
        "stress",
        "Force over the area that carries it, in MPa: newtons a square millimetre.",
        ("strength", "hoop stress", "peak"),
    ),
    Term(
        "strength",
        "The stress at which a material breaks or gives way, in MPa.",
        ("stress", "allowable", "safety factor"),
    ),
    Term(
        "modulus",
        "How stiff a material is, in MPa: stress over how far it gives. A stiff tube grips hard "
        "and stretches little.",
        ("stress", "stretch", "push_on"),
    ),
    Term(
        "specific gravity",
        "How heavy a wood is: its dry mass over its volume while green, against water's. Green is "
        "wet, as in a living tree. Heavy woods are hard.",
        ("wood", "across the grain"),
        ("gravity", "green"),
    ),
    Term(
        "across the grain",
        "Not along the fibres but over them (perpendicular): how hard wood can be squeezed so "
        "before it crushes (compression), and pulled so before it splits (tension).",
        ("wood_split", "wood_hold", "wood"),
        ("perpendicular", "compression", "tension"),
    ),
    Term(
        "elastic ratios",
        "How much softer a wood is across its fibres than along them, from a printed table; where "
        "it has none for a wood, a judgement stands in.",
        ("across the grain", "wood_split", "judgement"),
        ("elastic",),
    ),
    Term(
        "process",
        "The way a part is printed, by the name that ISO/ASTM 52900 gives it, its trade's name "
        "beside it.",
        ("tolerance", "finish"),
    ),
    Term(
        "yield",
        "The stress from which on a material stays deformed when it is let go.",
        ("strength", "stress"),
    ),
    Term(
        "layers",
        "A print is built in layers, and is weakest where it is pulled across them: each check "
        "takes the weaker way, however the part is laid; the sheet says which way is better.",
        ("strength", "process"),
        ("layer", "flat"),
    ),
    Term(
        "PA12",
        "A nylon that print services print by powder bed fusion, which melts it layer by layer "
        "in a bed of powder. MJF and SLS are two ways of doing so.",
        ("process", "finish"),
        ("MJF", "SLS", "mjf_pa12", "nylon print"),
    ),
    # Loads and tests.
    Term(
        "thrust",
        "The push of the pressure that would drive a part out: pressure times the area it acts on. "
        "A tip is held against it by its wedge, a tube by its barb.",
        ("hold", "wood_hold", "barb_grip"),
        ("ejects", "ejecting thrust"),
    ),
    Term(
        "hold",
        "What keeps a tip in the wood or a tube on its barb, as the pull that just moves it.",
        ("thrust", "friction", "wood_hold", "barb_grip"),
        ("holds",),
    ),
    Term(
        "friction",
        "The drag of one face on another over the force that presses them together, both being "
        "forces: 0.2 drags with a fifth. No published value was found for wet wood on a print; a "
        "pull at your bench tells it.",
        ("hold", "product", "judgement"),
    ),
    Term(
        "relaxed",
        "Wood and plastic that stay squeezed press back less and less over days: a check counts "
        "only what is expected to stay.",
        ("hold", "judgement"),
        ("relaxes", "relaxation", "fresh"),
    ),
    Term(
        "margin",
        "How much is left over what is asked: 1 is just enough, 1.1 a tenth more.",
        ("safety factor", "least to spare"),
    ),
    Term(
        "clearance",
        "Room left free on purpose, so that two parts do not touch too early.",
        ("tolerance",),
    ),
    Term(
        "tug",
        "A pull on the line by a foot or a branch. It tilts a seated tip or pulls a tube off, so "
        "the line is tied to the trunk.",
        ("barb_tug", "line_pull"),
    ),
    Term(
        "drive",
        "To tap a tip into its hole with a hammer.",
        ("driver", "hand-tight", "drive_buckle", "bench"),
        ("driving", "blow", "hammer"),
    ),
    Term(
        "push",
        "To slide a tube onto its barb.",
        ("push_on", "stretch", "bench"),
    ),
    Term(
        "pull",
        "To draw at a seat by its fork or a cord with a luggage scale, in line with the tip: the "
        "test that proves it.",
        ("proved", "hook end", "pull_check", "bench"),
    ),
    Term(
        "pull-off",
        "The pull at which a tube comes off its barb.",
        ("hold", "barb_grip", "bench"),
        ("pull_off", "pulled off"),
    ),
    Term(
        "twist",
        "To turn a tip in its hole about its own axis, as its driver's wings do to free it. It "
        "is a load case of `prove` too.",
        ("wings", "twist_out", "bench"),
    ),
    Term(
        "weep",
        "Liquid that comes out as drops, not as a jet.",
        ("wood_seal", "leak", "bench"),
        ("weeps", "drip", "drips"),
    ),
    Term(
        "leak",
        "Liquid that gets past a seat or a barb. A proof test tells it from creep by how the "
        "pressure falls: a leak goes on, creep slows.",
        ("creep", "weep", "proof test"),
        ("leaks", "leaking"),
    ),
    Term(
        "creep",
        "A tube or a tip that slowly gives under a load that stays. The pressure of a closed line "
        "falls by it, slower and slower, though nothing leaks.",
        ("leak", "proof test", "family"),
        ("creeps",),
    ),
    Term(
        "vent",
        "To let the pressure out of the line until the gauge shows zero. It is done before "
        "anything is touched, your face out of the line of the tip.",
        ("zero", "gauge"),
        ("vented",),
    ),
    Term(
        "lever",
        "A bar of known length that a scale pulls at: force times length is a torque. One gauge "
        "that `bench` asks for.",
        ("torque", "bench"),
    ),
    Term(
        "torque",
        "Turning force: force times the arm it acts at, in newton metres, N m, or inch pounds "
        "force, in lbf.",
        ("units", "twist"),
        ("N m", "in lbf", "N mm"),
    ),
    Term(
        "units",
        "psi, bar, kPa and MPa are pressures: 1 bar is 14.5 psi, 100 kPa or 0.1 MPa. N, newton, "
        "and lbf, pound force, are forces: 4.45 N is 1 lbf, what a pound weighs.",
        ("gauge", "stress", "torque"),
        ("psi", "bar", "kPa", "MPa", "N", "lbf", "unit"),
    ),
    Term(
        "hoop stress",
        "The pull around a wall under pressure, which splits a pipe along its length.",
        ("barb_wall", "tip_wall"),
    ),
    Term(
        "relief",
        "The setting of the vessel's relief valve. It is the highest pressure there can be, and "
        "everything is judged at it.",
        ("gauge",),
    ),
    Term(
        "wood",
        "What the tip is tapped into: a species of `list woods`; a common name such as maple, or "
        "hardwood or softwood, of which each check takes the worst wood, the softest to hold and "
        "the hardest to drive; group and green specific gravity, such as hardwood 0.5; or unknown, "
        "and then nothing of the wood is checked.",
        ("wood_hold", "drive_buckle"),
        ("common name",),
    ),
    Term(
        "gauge",
        "Pressure above that of the air, as a gauge reads it. (`bench --gauges`: what you have to "
        "measure with, of scale, lever, pump and calipers.)",
        ("relief", "zero", "bench"),
        ("gauges",),
    ),
    Term(
        "proof test",
        "Water, never air, held well above the highest pressure, behind a shield, before a batch "
        "is used. The proof card says how, step by step.",
        ("relief",),
        ("proof", "proof-test"),
    ),
    Term(
        "driver",
        "A printed cup that fits over a part's pad, so that a hammer strikes it straight and "
        "fingers turn it out.",
        ("fork", "tool_fit"),
    ),
    Term(
        "fork",
        "A printed plate with a slot: gauge of the travel, hook for the pull, wedge to lift a tip.",
        ("driver", "pull_check"),
    ),
    Term(
        "step",
        "Of a fork: one rise of its tines, as high as two ticks stand apart. How many go under a "
        "part tells how far it has still to go; driven in, each lifts it by one. (Of a barb: how "
        "far a crest stands over the root.)",
        ("fork", "tick"),
        ("steps", "tine", "tines"),
    ),
    Term("hook end", "Of a fork: the cupped plate with two eyes, by which a seat is pulled.",
         ("fork", "pull_check")),
    Term("wings", "Of a driver: two bars for two fingertips. They give way before the tip does.",
         ("driver", "driver_wings")),
    Term("collar", "A printed ring that stops a drill bit at its depth.", ("driver",), ("stop",)),
    # Papers.
    Term(
        "stack-up",
        "Every length that makes up a tip's seat, and every size at both ends of its tolerance.",
        ("seat", "tolerance"),
    ),
    Term(
        "field card",
        "The page to take to the tree: depth, ticks, the order of work, a box for each port.",
        ("proved", "port"),
        ("card",),
    ),
    Term(
        "batch",
        "Pieces that came out of one print run. They are alike, so a few of them are tested for "
        "all; the next batch may differ.",
        ("proof test", "first article"),
        ("print batch",),
    ),
    Term(
        "first article",
        "The first batch of a part: one piece more, measured whole, soaked, and broken.",
        ("batch", "proof test"),
    ),
    Term("revision", "A letter that moves on when `resize` remakes a part with another size.",
         ("mark",), ("rev",)),
    Term(
        "critical dimension",
        "A size that fit, seal or hold hangs on: the order gives its limits, and it is measured on "
        "arrival.",
        ("tolerance", "go"),
        ("critical dimensions", "critical"),
    ),
    Term(
        "shank",
        "The plain end of a drill bit. Held as a pin it tells whether a bore came out.",
        ("go", "bore"),
        ("drill shank", "pin"),
    ),
    Term(
        "kit",
        "All parts for one tree or one line, named in one file: job, parts, chain.",
        ("chain", "field card"),
    ),
    Term(
        "stage",
        "When a check matters: service (under pressure, in the tree), handling (while hands work "
        "on it) or making (at the printer).",
        ("handling rule", "verdict"),
        ("making",),
    ),
    Term(
        "fit only",
        "A part printed on a desktop printer with `--use fit`, to try fit and seal and for a water "
        "proof at the bench. It is engraved X and never goes into a tree.",
        ("mark", "proof test"),
        ("fit",),
    ),
    Term(
        "cap",
        "A part that closes a tube's end.",
        ("barb", "end_wall"),
    ),
    # Finite elements.
    Term(
        "finite elements",
        "A way to compute stress: the part is cut into thousands of small bodies, the mesh, each "
        "simple enough to solve. Smaller ones come nearer.",
        ("prove", "converged", "peak"),
        ("mesh", "elements", "fe"),
    ),
    Term(
        "peak",
        "The largest stress that finite elements find in the drawn part, sharp inner corners left "
        "out. The formula is the check's own, for the same load.",
        ("allowable", "converged"),
        ("formula", "ratio"),
    ),
    Term(
        "allowable",
        "The stress that a material may carry for years at the service temperature, its long-term "
        "design factor taken off; for a moment, its short-term strength.",
        ("peak", "design factor"),
    ),
    Term(
        "converged",
        "Whether a peak stays within 3 % when the elements near it follow the stress an order "
        "closer. NO means that the figure may still move; the checks decide.",
        ("peak",),
    ),
    Term(
        "load case",
        "One way a part is loaded, solved by itself: the working pressure, the proof test's, the "
        "tube's squeeze once the pressure is let go, a side force on an arm, driving, a twist. "
        "The tube on its barb (seal) and the tip in its hole (seat_in_wood) are cases too.",
        ("peak", "side_load", "twist"),
        ("case", "cases", "working", "let_go", "side", "seat_in_wood"),
    ),
    # What is asked for.
    Term(
        "hole",
        "What a hole measures that your bit has drilled in your wood. Without it a hole is taken "
        "as wide as such bits leave it, from the least to the most, and the tip is longer for it.",
        ("bit", "scatter"),
    ),
    Term(
        "clamp",
        "A band round the tube on each barb: what it presses counts beside the tube's own squeeze.",
        ("barb_seal", "stretch"),
    ),
    Term(
        "rating",
        "The highest pressure a maker states for a tube or a vessel, and at which temperature. "
        "Warmer, a tube holds less. What states none can never pass.",
        ("tube_rating", "relief"),
        ("stated rating", "tube rating", "vessel rating"),
    ),
    Term(
        "service",
        "The print service whose parts you measured: `--service NAME` draws for its own offset and "
        "tolerance, `none` for the record's. An offset is how much larger or smaller than drawn "
        "its prints come out on average.",
        ("coupon", "tolerance", "not default"),
        ("offset", "calibrated"),
    ),
    Term(
        "not default",
        "Of `calibrate`: what was measured counts only where `--service NAME` asks for it. Without "
        "it, later parts of that material take it unasked, and say so.",
        ("service", "coupon"),
    ),
    Term(
        "without",
        "`--without measured` judges by judgement alone, as if no bench day had been, and shows "
        "what your own readings change.",
        ("measured", "bench"),
    ),
    Term(
        "set",
        "`--set NAME=VALUE` takes a size or a figure of yours, as often as you like. Figures are "
        "named on the page of each check that leans on them; sizes are "
        "{sizes}. A part says which it was given.",
        ("judgement", "status"),
    ),
    Term(
        "for",
        "Of a driver, fork or collar: the part it is made for, by the folder of one that was made, "
        "or tip, elbow or tee beside the same inputs.",
        ("driver", "fork", "collar"),
    ),
    Term(
        "formats",
        "The files that are written: step and 3mf for a print service, stl for a printer, pdf, dxf "
        "and svg of the drawing, pictures and sheet. `--formats step,stl` writes these alone.",
        ("stack-up", "field card"),
        ("format", "STL", "3MF", "DXF"),
    ),
    Term(
        "force",
        "`--force` writes again what is there already. (A force as a load is told in newtons, N, "
        "with pounds force, lbf, beside it.)",
        ("revision", "anyway"),
    ),
    Term(
        "anyway",
        "`--anyway` writes or orders a part that fails a check. It is marked NOT PASSED, engraved "
        "with an X, and the command still ends with exit code 3.",
        ("fail", "mark"),
    ),
    Term(
        "dry run",
        "`-n` judges and tells all, and writes nothing.",
        ("verdict",),
    ),
    Term(
        "json",
        "`--json` prints one document for a program in place of words: every figure, in mm, N, MPa "
        "and kPa whatever was typed.",
        ("status",),
    ),
    Term(
        "sweep",
        "Of `rate`: the part is drawn and judged anew for each bit, pressure, material, tube or "
        "wood of a list. `--points` says how many pressures a range like 30psi..90psi has.",
        ("scatter", "governing"),
        ("points",),
    ),
    Term(
        "seed",
        "The number at which drawing parts by chance begins: the same seed gives the same parts.",
        ("scatter",),
    ),
    Term(
        "scheduler",
        "The program of a cluster that hands parts to its workers, by its address, such as "
        "tcp://first-machine:8786.",
        ("worker",),
    ),
    Term(
        "worker",
        "One process that makes parts, here or on another machine.",
        ("scheduler",),
    ),
    # Ordering.
    Term(
        "finish",
        "What is done to a part after it is printed, such as blasting, which throws fine beads at "
        "it to take the powder off, or smoothing with vapour. Limits on the order hold for the "
        "part as finished.",
        ("tolerance", "buyer"),
        ("blast", "blasting", "blast medium", "blasted"),
    ),
    Term(
        "quote card",
        "A page of an order to copy into a print service's own form: what to print, in what, how "
        "finished, and what to ask before a price is taken.",
        ("buyer", "finish", "critical dimension"),
        ("quote",),
    ),
    Term(
        "checksum",
        "A number worked out from every byte of a file: the same again, the file is unchanged.",
        ("first article",),
        ("checksums", "sha256"),
    ),
    Term(
        "inspection",
        "What is measured when an order arrives, with its limits and a column to write in.",
        ("critical dimension", "go", "rod test"),
        ("inspection page",),
    ),
    Term(
        "buyer",
        "Who orders: a kit's table of name, contact and the answers to what print services ask "
        "first.",
        ("kit", "finish"),
    ),
    Term(
        "repeat",
        "Of an order: a batch of parts that were tried before. No piece more is ordered to be "
        "broken.",
        ("first article", "spare"),
    ),
    Term(
        "go",
        "Of an inspection: the drill shank that must pass a bore. The no-go is the one that must "
        "not enter.",
        ("bore", "tolerance"),
        ("no-go",),
    ),
    Term(
        "rod test",
        "A rod pushed through every bore: powder that stays inside blocks a port.",
        ("bore", "port"),
    ),
    Term(
        "solidity",
        "How much of a part's outline is filled: a print is asked for solid, without a lattice.",
        ("print_wall",),
    ),
    # Getting better figures.
    Term(
        "post",
        "Of a coupon: a pin whose outside you measure; `--post 8mm:7.95mm` is drawn and measured.",
        ("coupon", "tolerance"),
    ),
    Term(
        "zero",
        "What a gauge shows while the line is vented. `log --zero 1.5psi` takes it off every "
        "reading.",
        ("gauge", "proof test"),
    ),
    Term(
        "coupon",
        "A small print of pins and holes in fine steps. What fits on yours tells what your print "
        "service does; `barbwright calibrate` takes the answer.",
        ("tolerance", "grade"),
    ),
    Term(
        "grade",
        "One of three tips whose leads differ a little. You try which goes in as the sheet says, "
        "and so need no calibration. (On an order, also the powder's grade.)",
        ("tolerance", "coupon"),
        ("grades",),
    ),
    Term(
        "bench",
        "An afternoon with printed parts, a luggage scale and a piece of the wood. `barbwright "
        "bench` plans it, `barbwright log` reads what came out, and checks then use your figures.",
        ("judgement", "measured", "worth"),
    ),
    Term(
        "worth",
        "Of a reading: how much of the expected loss by wrong verdicts it takes away, an hour. A "
        "part passed wrongly counts three, one failed wrongly one.",
        ("bench", "judgement"),
        ("loss", "expected loss"),
    ),
    Term(
        "product",
        "What a reading can tell: not friction, and not contact, but one times the other, for "
        "twice the one with half the other holds the same.",
        ("bench", "prior"),
        ("products",),
    ),
    Term(
        "prior",
        "What is believed of a figure before any reading: its likeliest value, and how far off it "
        "may be. Readings narrow it.",
        ("product", "nine in ten", "judgement"),
    ),
    Term(
        "nine in ten",
        "Of a range: nine true values of ten are expected to lie in it.",
        ("prior", "spread"),
    ),
    Term(
        "spread",
        "How far a size, a hole or a wood varies by chance from one to the next. Normal: near the "
        "middle most often, two of three within one standard deviation of it (over the mean it is "
        "the coefficient of variation). Uniform: anywhere between two ends alike. Of a hundred "
        "pieces five lie below the 5th percentile.",
        ("scatter", "nine in ten"),
        (
            "standard deviation", "standard deviations", "coefficient of variation", "normal",
            "uniform", "percentile",
        ),
    ),
    Term(
        "family",
        "Of a proof test: one law by which a line that is tight creeps. Several are weighed, each "
        "by how well it follows the readings.",
        ("proof test", "nine in ten"),
    ),
    Term(
        "measured",
        "A figure from your own bench day, that stands in for a judgement: the check takes its "
        "lower end, and says how many readings it has. (`chain --measured`: what one port of yours "
        "took, in which time, at which pressure, such as 450 mL, 6 min, 40 psi.)",
        ("bench", "status", "uptake"),
    ),
    # The chain.
    Term(
        "last over first",
        "The flow of a chain's last port over that of its first: 1 is even, 0.9 gives the last a "
        "tenth less.",
        ("port", "uptake"),
        ("last to first",),
    ),
    Term(
        "port",
        "One drilled hole with its tip: a tee, or the elbow at the chain's end.",
        ("uptake", "chain"),
    ),
    Term(
        "chain",
        "Tees one after another on a line from the vessel, an elbow at the end. `barbwright chain` "
        "says what pressure reaches the last one.",
        ("port", "uptake"),
    ),
    Term(
        "uptake",
        "How fast the wood takes water at a pressure. It differs several times over between trees, "
        "so times are told as a range; your own log narrows it.",
        ("port", "bench"),
    ),
    Term(
        "crossing",
        "Where a part's bores meet: the pressure of the line at a port, before its tip.",
        ("port", "crossing_bores"),
        ("node", "node pressure"),
    ),
    Term(
        "limited by",
        "What a chain's flow hangs on most: the tree, which takes up no faster, or the line, whose "
        "tube and bores lose pressure on the way. A wider line helps where the line limits.",
        ("chain", "uptake"),
        ("limited",),
    ),
    Term(
        "dry port",
        "A port that stands so high over the vessel that its pressure is gone before it: it takes "
        "no liquid, and may let air in.",
        ("port", "height", "purge"),
        ("dry ports", "dry"),
    ),
    Term(
        "run-down",
        "How the pressure of a vessel falls while it empties, where no regulator holds it.",
        ("vessel", "air head", "regulated", "recharge"),
    ),
    Term(
        "bill of parts",
        "What to print and to cut for one chain: tees, elbow, spares, and each length of tube.",
        ("chain", "kit", "spare"),
    ),
    Term(
        "sapwood",
        "The outer wood of a trunk, which carries the water; inside it the heartwood does not.",
        ("uptake", "ring-porous"),
    ),
    Term(
        "ring-porous",
        "Wood such as oak, ash and elm whose widest vessels stand in the rings grown last, so that "
        "most water goes up just under the bark, where the tip covers it.",
        ("sapwood", "uptake"),
    ),
    Term(
        "species",
        "A kind of tree. `list species` has those whose uptake was measured and published, `list "
        "woods` those whose wood was.",
        ("uptake", "wood", "tree"),
    ),
    Term(
        "tree",
        "One tree of your own, by the name it has in your field logs: `chain --tree NAME` takes "
        "what it was seen to take up, before anything its species says.",
        ("uptake", "species"),
    ),
    Term(
        "girth",
        "What a tape round the trunk reads where the holes go. With the spacing it says how many "
        "ports there are.",
        ("spacing", "port"),
        ("trunk diameter",),
    ),
    Term("spacing", "From hole to hole along the bark.", ("girth", "port")),
    Term(
        "supply",
        "The tube from the vessel to the first tee: its length, its bore where that is another, "
        "and the loss coefficient of valves and couplers in it.",
        ("chain", "vessel"),
        ("supply length", "supply tube id", "supply loss", "loss coefficient"),
    ),
    Term(
        "height",
        "How far a port stands above the vessel's gauge. A metre takes 9.8 kPa (1.4 psi) away.",
        ("port", "gauge"),
        ("heights",),
    ),
    Term(
        "viscosity",
        "How thick a liquid is: water at 20 °C has 1 mPa s. Twice as thick flows half as fast.",
        ("chain", "uptake"),
    ),
    Term("density", "Mass of a volume: water has 1 kg a litre.", ("viscosity", "height")),
    Term(
        "volume per tree",
        "What you want one tree to get. It sets times and nothing else; barbwright suggests none.",
        ("uptake", "vessel"),
        ("volume",),
    ),
    Term(
        "vessel",
        "What holds the liquid under air, with a relief valve and a rating of its own.",
        ("air head", "fill", "reserve", "relief"),
        ("vessel volume", "vessel temperature"),
    ),
    Term(
        "fill",
        "The liquid that is put into the vessel; what is left of its volume is the air head.",
        ("vessel", "air head"),
        ("filling",),
    ),
    Term(
        "reserve",
        "Liquid that must stay in the vessel, so that no air enters the line: all times stop "
        "there.",
        ("vessel", "purge"),
    ),
    Term(
        "regulated",
        "Whether a regulator holds the vessel's pressure. Without one the air head alone drives, "
        "and the pressure falls as it expands.",
        ("vessel", "air head"),
        ("unregulated",),
    ),
    Term(
        "recharge",
        "Pumping air into the vessel again, and the pressure at which you do.",
        ("vessel", "air head"),
        ("recharge at", "pump up again"),
    ),
    Term("spare", "Pieces printed on top of those needed.", ("batch", "kit"), ("spares",)),
    Term(
        "air head",
        "The air over the liquid in a vessel. As liquid leaves, it expands and the pressure falls.",
        ("chain",),
    ),
    Term(
        "quick",
        "Of a vessel: its air expands too fast to take up heat, and the pressure falls most "
        "(adiabatic). Slow, it stays as warm as it is (isothermal). A day lies between.",
        ("vessel", "air head"),
        ("slow",),
    ),
    Term(
        "stored energy",
        "What the air in a vessel sets free where it bursts, in joules; as much water holds a "
        "small part of it. So parts are proved with water, never air.",
        ("vessel", "proof test"),
        ("energy stored", "energy"),
    ),
    Term("purge", "Letting the air out of the line at its end before the elbow is closed.",
         ("chain",)),
)  # fmt: skip

TERMS: dict[str, Term] = {term.word: term for term in _TERMS}


def _plain(text: str) -> str:
    """Return a word however it is written: any case, a dash or an underscore for a space."""
    return " ".join(text.casefold().replace("_", " ").replace("-", " ").split())


_SPELLINGS = {_plain(spelling): term for term in _TERMS for spelling in (term.word, *term.also)}


def meant_term(text: str) -> Term | None:
    """Return the only word of ours that has a text as one of its parts: hoop, the hoop stress.

    Parameters
    ----------
    text : str
        None is given back where no word has it, or several have [-].
    """
    part = _plain(text)
    with_it = {term.word: term for plain, term in _SPELLINGS.items() if part in plain.split()}
    return next(iter(with_it.values())) if len(with_it) == 1 else None


def find_term(text: str) -> Term | None:
    """Return the word a text is, any case; None where it is none of ours [-].

    Parameters
    ----------
    text : str
        Such as "Safety factor" [-].
    """
    return _SPELLINGS.get(_plain(text))
