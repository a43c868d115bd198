"""A chain for the tests: our own scenario, sizes near the demo kit's."""

from dataclasses import replace

from barbwright.chain.plan import ChainPlan, Rated, VesselPlan
from barbwright.equations.fittings import FittingGeometry

TEE = FittingGeometry(
    kind="tee",
    run_bore_mm=2.5,
    tip_bore_mm=2.5,
    run_length_mm=40.0,
    tip_length_mm=30.0,
    relief_mm=4.0,
    stop_mm=8.0,
)
ELBOW = FittingGeometry(
    kind="elbow",
    run_bore_mm=2.5,
    tip_bore_mm=2.5,
    run_length_mm=20.0,
    tip_length_mm=30.0,
    relief_mm=4.0,
    stop_mm=8.0,
)


def example_plan(**changes):
    plan = ChainPlan(
        ports=8,
        tube_id_mm=4.318,
        tee=TEE,
        elbow=ELBOW,
        supply_mpa=0.310,
        conductance_ml_min_kpa=0.3,
        conductance_low_ml_min_kpa=0.1,
        conductance_high_ml_min_kpa=0.9,
        dose_ml=3000.0,
        vessel=VesselPlan(volume_ml=12000.0, liquid_ml=6000.0, relief_mpa=0.379),
        ratings=(Rated(name="tube", mpa=1.034), Rated(name="elbow", mpa=0.450)),
    )
    return replace(plan, **changes)
