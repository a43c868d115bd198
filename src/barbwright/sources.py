"""The bibliography: every source an equation, a check or a profile may name, by key.

A status says how far we looked: ``seen`` (the document was read), ``second-hand`` (quoted by
another), ``from memory`` (named, not opened), ``own`` (derived or computed by us) and
``judgement`` (chosen by us, to be replaced by a bench test).
"""

from __future__ import annotations

from dataclasses import dataclass

STATUSES = ("seen", "second-hand", "from memory", "own", "judgement")


@dataclass(frozen=True)
class Source:
    """One entry of the bibliography.

    Parameters
    ----------
    key : str
        Name used in docstrings, checks and profiles [-].
    citation : str
        Author, year, title, place, as far as known [-].
    status : str
        One of `STATUSES` [-].
    """

    key: str
    citation: str
    status: str

    def __post_init__(self) -> None:
        if self.status not in STATUSES:
            message = f"source {self.key}: status {self.status!r} is none of {STATUSES}"
            raise ValueError(message)


_ENTRIES = (
    # Strength of printed walls
    Source("lame", "Lame, thick-walled cylinder; any strength-of-materials text", "from memory"),
    Source(
        "shigley",
        "Shigley's Mechanical Engineering Design, chapter 3 (thick cylinders, example 3-14), "
        "eq. 7-39 to 7-45 (press fits)",
        "from memory",
    ),
    Source("timoshenko", "Timoshenko, Strength of Materials, part II", "from memory"),
    Source("hearn", "Hearn, Mechanics of Materials: collapse of thick cylinders", "from memory"),
    Source("roark", "Roark's Formulas for Stress and Strain: thick sphere", "from memory"),
    Source("barlow", "Barlow's formula with the outer diameter; any piping text", "seen"),
    Source("beam_theory", "Bending, torsion and axial stress; any strength text", "from memory"),
    Source(
        "makulsawatudom2004",
        "Makulsawatudom, Mackenzie and Hamilton 2004, stress concentration at crossing bores, "
        "as quoted by Nziu and Masu 2019",
        "second-hand",
    ),
    Source("nziu_masu2019", "Nziu and Masu 2019, IJMME 14:16, table 2 and abstract", "seen"),
    Source(
        "crossing_bores_fe",
        "Our finite elements of crossing bores: closed ends, pressure on all wetted walls, nu 0.3; "
        "reproduce published cross-bore factors within 2-6 %",
        "own",
    ),
    Source(
        "hub_crossing_fe",
        "Our finite elements of bores that open into a relief ball in a hub ball: tee, equal "
        "bores, necks of 2.5 bores or as wide as the ball lets them be, closed ends, pressure on "
        "all wetted walls, nu 0.4; the same elements reproduce published cross-bore factors",
        "own",
    ),
    Source(
        "barb_contact_fe",
        "Our finite elements of a tube on its barb: axisymmetric, large strain, neo-Hookean or J2 "
        "in log strain, Coulomb friction; held to the Lame fit and the closed form of a full "
        "cylinder, no measurement behind them",
        "own",
    ),
    Source("asme_b31_3", "ASME B31.3-2016, A302.3 (one-tenth cap, laminates)", "seen"),
    Source("b31_3", "ASME B31.3, hydrostatic leak test pattern at 1.5 times design", "seen"),
    # Tube on barb
    Source(
        "gent1958",
        "Gent 1958, indentation hardness and Young's modulus of rubber; constants seen in three "
        "public sources",
        "seen",
    ),
    Source("ruess", "Ruess relation, log10 E = 0.0235 S - 0.6403", "seen"),
    Source(
        "neo_hookean_tube",
        "Own derivation: neo-Hookean tube on a rigid barb at large strain, quadrature-checked",
        "own",
    ),
    Source("en_iso_8029", "EN ISO 8029, thermoplastic water hose: 0.50-0.51 at 55 C", "seen"),
    Source("hose_practice", "Hose practice for liquids other than water: burst at 4:1", "seen"),
    Source("tube_tables", "Public tube size tables; the row's own status counts", "seen"),
    Source(
        "tube_ratings",
        "Catalogue ratings of unreinforced polyurethane and vinyl tube, as a trade counter states "
        "them; the row's own rating_status counts",
        "from memory",
    ),
    Source(
        "sae_j844",
        "SAE J844 and J1394, nonmetallic air-brake tubing: largest working pressure 1.0 MPa, to "
        "93 C (scope, seen)",
        "seen",
    ),
    Source("nylon_tube_burst", "One nylon tube's stated burst at 23, 40 and 100 C", "seen"),
    # Tip in wood
    Source(
        "wood_handbook",
        "USDA Forest Products Laboratory, Wood Handbook, FPL-GTR-282: green values, tables 5-1, "
        "5-3 and 5-11a",
        "seen",
    ),
    Source(
        "wood_handbook_regression",
        "Wood Handbook, property against green specific gravity, table 5-11a; constants agree "
        "with 15 seen rows within -20 to +25 %",
        "from memory",
    ),
    Source(
        "wood_elastic_ratios",
        "Wood Handbook, tables 5-1 and 5-2: elastic and Poisson's ratios near 12 % moisture; three "
        "rows seen in a reprint",
        "from memory",
    ),
    Source("astm_d2555", "ASTM D2555-type table: coefficient of variation 0.28", "seen"),
    Source(
        "orthotropic_hole",
        "Hole in an orthotropic sheet in tension (Lekhnitskii's form), used for splitting wood",
        "from memory",
    ),
    Source(
        "broms1964",
        "Broms, Lateral resistance of piles in cohesive soils, J. Soil Mech. Found. Div. 90(2), "
        "1964: a short free-headed pile in a bed of one strength",
        "from memory",
    ),
    Source("wedge_friction", "Friction of a wedge or taper; any statics text", "from memory"),
    Source("wet_wood_friction", "Wet wood on steel: 0.70 static to 0.15 at 4 m/s", "seen"),
    Source("side_grain_crush", "Side-grain stress at 1 mm crush: 1.6-1.85 x C90", "seen"),
    Source("taper_pins", "1:20 taper pins and self-holding tapers", "seen"),
    Source("small_bore_conical", "Small-bore conical fittings with 6 % taper", "seen"),
    Source("sap_tapping_practice", "Sap-tapping practice: over-driven taps split and leak", "seen"),
    Source(
        "peck1969",
        "Peck 1969, Advantages and limitations of the observational method in applied soil "
        "mechanics, Geotechnique 19(2); EN 1997-1, 2.7, the same method in a code",
        "from memory",
    ),
    Source(
        "mjf_guide_tempus",
        "Tempus 3D, HP Multi Jet Fusion design guide (tempus3d.com): two or more escape holes "
        "2.0 mm, a single one 4.0; sunk detail from 0.2 mm, readable sunk text 0.4 mm",
        "seen",
    ),
    Source(
        "pmc10406103",
        "Open paper, PMC10406103, table 2: makers' figures for printed plastics, among them a "
        "durable SLA resin (28 MPa, 1000 MPa, 55 %), a surgical-guide resin (73 MPa, 2900 MPa, "
        "12.3 %) and a soft TPU (modulus 2.5 MPa)",
        "seen",
    ),
    Source(
        "durable_resin_2017",
        "A maker's sheet of its durable SLA resin, rev 01 04.18.17: post-cured 31.8 MPa, 1.26 GPa, "
        "49 %, heat deflection 43.3 C at 0.45 MPa, expansion 145 um/m/K",
        "seen",
    ),
    Source(
        "resin_guide_walls",
        "Print services' design guides (3dpnext.com, support.jlcpcb.com): SLA walls 1 mm standing "
        "free, letters and sunk detail 0.5 mm, escape holes 2.5 mm",
        "seen",
    ),
    Source(
        "smoothing_removal",
        "additive.tools, PA12 from powder: vapour smoothing removes about 50 to 100 um, to be "
        "allowed for in the finished sizes; no edge radius and no least wall is given",
        "seen",
    ),
    # Column, hammer
    Source(
        "euler_johnson", "Euler and Johnson columns; any machine-design textbook", "from memory"
    ),
    Source(
        "pulse_buckling",
        "Lindberg and Florence, Dynamic Pulse Buckling: a short load over the buckling load is "
        "borne by the column's own inertia",
        "from memory",
    ),
    Source("impact", "Kinetic energy and first stress wave; any dynamics text", "from memory"),
    # Materials and processes
    Source("iso_17295", "ISO 17295, additive manufacturing: part positioning terms", "from memory"),
    Source(
        "iso_astm_52921",
        "ISO/ASTM 52921, orthogonal orientation notation (definition, in a public extract); "
        "ISO 17295:2023 takes its place",
        "second-hand",
    ),
    Source(
        "iso_2859_1",
        "ISO 2859-1 (ANSI/ASQ Z1.4), sample size code letters, general inspection level II "
        "(table, in a public chart)",
        "second-hand",
    ),
    Source(
        "mireles2011",
        "Mireles et al. 2011: sealed extruded parts held 20-40 psi",
        "seen",
    ),
    Source(
        "design_record",
        "The material record in profiles/materials: derated from the published figures beside it",
        "judgement",
    ),
    Source("user_profile", "A figure from the user's own profile, kit or --set", "judgement"),
    # Bits
    Source("asme_b94_11m", "ASME B94.11M, twist drills, inch series", "from memory"),
    Source("iso_235", "ISO 235 / BS 328, twist drills, metric series", "from memory"),
    # Flow, vessel and trees
    Source("hagen_poiseuille", "Hagen-Poiseuille; any fluid mechanics text", "from memory"),
    Source("darcy_weisbach", "Darcy-Weisbach; any fluid mechanics text", "from memory"),
    Source(
        "churchill1977", "Churchill 1977, friction factor over all Reynolds numbers", "from memory"
    ),
    Source(
        "silverberg_darby1999",
        "Silverberg and Darby 1999, three-constant fitting losses K1/Re + Ki(1 + Kd/D^0.3)",
        "from memory",
    ),
    Source(
        "crane_tp410",
        "Crane TP-410, examples 7-1 and 7-13; printed answers seen in a public notebook",
        "second-hand",
    ),
    Source(
        "iapws_short", "IAPWS, short form for liquid water at 0.1 MPa (viscosity)", "from memory"
    ),
    Source(
        "tanaka2001",
        "Tanaka et al. 2001, Metrologia 38, 301: density of water 0-40 C (CIPM formula); constants "
        "as public code quotes them, agree with IAPWS-95 to 1.2 parts in a million",
        "second-hand",
    ),
    Source(
        "borda_carnot",
        "Borda and Carnot, loss of a sudden expansion; any fluid mechanics text",
        "from memory",
    ),
    Source(
        "sinclair_larsen1981",
        "Sinclair and Larsen 1981, J. Arboric. 7(1):6-10: water uptake at 0.7 kgf/cm2",
        "seen",
    ),
    Source("reil1979", "Reil 1979: 6 in between ports for trunks over 16 in", "seen"),
    Source("boyle", "Boyle's law and polytropic expansion; any physics text", "from memory"),
    Source("pcc2_501", "ASME PCC-2, 501-II: stored energy of a pressure test", "seen"),
    Source("brode", "Brode: stored energy (p2 - p1) V/(n - 1)", "seen"),
    Source(
        "comstock1970",
        "Comstock 1970, Directional permeability of softwoods, Wood and Fiber 1(4) (abstract); "
        "Choong and Tesoro 1974, Wood Science (abstract): along the grain 520 times across and up",
        "seen",
    ),
    Source(
        "domec2007",
        "Domec et al. 2007: conductivity of wood fell by 20 to 42 % at higher pressure gradients "
        "in some species (abstract)",
        "seen",
    ),
    Source(
        "uc_ipm_injection",
        "University of California Statewide IPM Program, note on injecting and implanting trees "
        "(page seen): tools that touch the inside of a tree spread bacteria, fungi and viruses "
        "unless they are cleaned and disinfected between trees",
        "seen",
    ),
    Source(
        "iowa_state_pruners",
        "Iowa State University Extension and Outreach, question and answer on sanitizing pruners "
        "(an excerpt of the page seen): dirt, sap and debris come off before disinfecting; at the "
        "least between plants; not every disinfectant works on every disease, and some corrode "
        "tools",
        "seen",
    ),
    # Ourselves
    Source("own_derivation", "Own derivation, given in the function's docstring", "own"),
    Source("own_arithmetic", "Own arithmetic", "own"),
    Source(
        "own_trial_fe",
        "Our finite elements on drawn parts, as `barbwright prove` makes them",
        "own",
    ),
    Source("judgement", "Our judgement, to be replaced by a bench test", "judgement"),
    Source(
        "common_practice",
        "Common practice of trunk watering and printing; no published source",
        "judgement",
    ),
)

SOURCES: dict[str, Source] = {entry.key: entry for entry in _ENTRIES}
