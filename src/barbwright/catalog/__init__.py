"""Materials, tubes, woods, bits and small tables: profile files read into frozen records.

The shipped `profiles/` first, the user's own on top; each table is read when first asked for,
with all faults of all its files at once. A name's own file is loaded when the name is: who lists
drill bits starts without the records of all else.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from barbwright.catalog.bit import Bit, bits, parse_bit
    from barbwright.catalog.folders import (
        profile_files,
        profile_folders,
        shipped_folder,
        user_folder,
    )
    from barbwright.catalog.language import languages, read_language, sentences
    from barbwright.catalog.lookup import find, name_one
    from barbwright.catalog.material import (
        FLUID_CLASSES,
        Material,
        find_material,
        materials,
        refused_materials,
    )
    from barbwright.catalog.measured import (
        BenchReading,
        Measured,
        MeasuredRecord,
        measured_key,
        measured_records,
        save_measured,
    )
    from barbwright.catalog.service import (
        Service,
        clear_older_defaults,
        default_service,
        find_service,
        save_service,
        service_id,
        services,
    )
    from barbwright.catalog.tables import (
        CrossingBores,
        HubCrossing,
        Judgement,
        Uptake,
        crossing_bores,
        hub_crossing,
        judged_values,
        judgements,
        shipped_judgements,
        tube_contact,
        uptakes,
    )
    from barbwright.catalog.tree import Tree, TreeRun, find_tree, save_tree, tree_of, trees
    from barbwright.catalog.tube import (
        Tube,
        TubeKind,
        TubeMaterial,
        find_tube,
        find_tube_material,
        match_tube,
        tube_kinds,
        tubes,
    )
    from barbwright.catalog.wood import Wood, find_wood, find_woods, woods, woods_in

__all__ = [
    "FLUID_CLASSES",
    "BenchReading",
    "Bit",
    "CrossingBores",
    "HubCrossing",
    "Judgement",
    "Material",
    "Measured",
    "MeasuredRecord",
    "Service",
    "Tree",
    "TreeRun",
    "Tube",
    "TubeKind",
    "TubeMaterial",
    "Uptake",
    "Wood",
    "bits",
    "clear_older_defaults",
    "crossing_bores",
    "default_service",
    "find",
    "find_material",
    "find_service",
    "find_tree",
    "find_tube",
    "find_tube_material",
    "find_wood",
    "find_woods",
    "hub_crossing",
    "judged_values",
    "judgements",
    "languages",
    "match_tube",
    "materials",
    "measured_key",
    "measured_records",
    "name_one",
    "parse_bit",
    "profile_files",
    "profile_folders",
    "read_language",
    "refused_materials",
    "save_measured",
    "save_service",
    "save_tree",
    "sentences",
    "service_id",
    "services",
    "shipped_folder",
    "shipped_judgements",
    "tree_of",
    "trees",
    "tube_contact",
    "tube_kinds",
    "tubes",
    "uptakes",
    "user_folder",
    "woods",
    "woods_in",
]

_HOMES = {
    "bit": "Bit bits parse_bit",
    "folders": "profile_files profile_folders shipped_folder user_folder",
    "language": "languages read_language sentences",
    "lookup": "find name_one",
    "material": "FLUID_CLASSES Material find_material materials refused_materials",
    "measured": "BenchReading Measured MeasuredRecord measured_key measured_records save_measured",
    "service": "Service clear_older_defaults default_service find_service save_service service_id "
    "services",
    "tables": "CrossingBores HubCrossing Judgement Uptake crossing_bores hub_crossing "
    "judged_values judgements shipped_judgements tube_contact uptakes",
    "tree": "Tree TreeRun find_tree save_tree tree_of trees",
    "tube": "Tube TubeKind TubeMaterial find_tube find_tube_material match_tube tube_kinds tubes",
    "wood": "Wood find_wood find_woods woods woods_in",
}
_HOME = {name: home for home, names in _HOMES.items() for name in names.split()}


def __getattr__(name: str) -> Any:
    """Load the file that a name lives in; what it gives stays, so this is asked once a name."""
    if name not in _HOME:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    return globals().setdefault(name, getattr(import_module(f"{__name__}.{_HOME[name]}"), name))
