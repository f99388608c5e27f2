"""The table of constants: each row is used, each number that decides stands there, and what it says can be believed."""

import ast
import pickle
import re
from pathlib import Path

import pint
import pytest

from siteassess.advice.assumptions import OF_A_HIGH_LINE, OF_GEAR, OF_HAULING, care_assumptions, stated
from siteassess.errors import UnknownName
from siteassess.reference.constants import constant, constants
from siteassess.reference.findings import word
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.locate import data_folder
from siteassess.reference.tables import rows

PACKAGE = Path(__file__).resolve().parents[2] / "siteassess"
TREES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.py"))}
ROWS = rows("constants")
STAY = {  # numbers of a search, a grid or a page, and definitions: nobody is told another word for them
    "advice": {
        "SLING_WIDTHS", "FARTHEST_DEG", "MOST_COMPARED", "ON_IT_M", "SECTION_SHARES",
        "ALL_TOGETHER_UP_TO", "KINDEST_SPANS", "KINDEST", "FEET_A_METRE", "NEAR_SPECIES", "MOST_CLOSURES", "HAIR",
        "LENGTH_STEP_M", "PAD_STEP_M", "BOUNDS", "MOST_TOLD", "TWILIGHT_DEG", "MOST_TAKEN", "LONGEST_NAME",
        "STEP_M", "SLOPE_STEP_DEG", "HELP_TO_NAME", "TIE_HEIGHTS_M", "DAY_MIN", "TAPES_APART", "AT_B", "ONE_POINT_M",
        # grids and margins of the first word's tables
        "ARMS", "HANG_FROM", "HELD_STEPS", "HUNG", "HUNG_STIFF", "LEAST_AND_MOST", "LEAST_WOOD", "LEVEL_TIES", "MOST",
        "OFFSET", "OTHER_KINDS", "OVER_FREE", "OVER_HELD", "OVER_LEAST", "OVER_MIDDLE", "OVER_MOST", "OVER_NEAR",
        "OVER_SAGS", "READ_FROM", "SHARES", "SPANNED", "STEP", "STIFF", "TIES", "TIGHT", "TREE_HEIGHTS",
        "USUAL_WALKER", "WOOD_STEP",
    },
    "mechanics": {
        "NEAREST_LINK", "CHUNK", "FIRST_ROUNDS", "MORE_ROUNDS", "STEP_TOLERANCE", "NEWTON_ROUNDS", "SAG_ROUNDS",
        "FLOOR_ROUNDS", "PRESS_ROUNDS", "SERIES_ROUNDS", "MEASURED_LINES", "NEARLY", "HALVINGS", "FOOT_SHIFTS", "CLOSE",
        "TO_THE_GROUND", "CROSSING_STEPS", "MAY_END", "USES", "ROWS", "CHOKE_ANGLES",
        "DRAG_MEASURED_AT", "GUST_HEIGHT", "_ROUNDS", "REFUSALS", "_NODES", "_WEIGHTS",
    },
    "places": {  # grids and models of the earth by their own definition among them
        "_UNIT_DEG", "COINCIDENT_M", "FRAME_RADIUS_M", "POLE_LATITUDE_DEG", "FALSE_NORTHING_M", "OLC_LAT_STEPS",
        "OLC_LON_STEPS", "OLC_MAX_DIGITS", "OLC_PAIR_DIGITS", "OLC_SEPARATOR_AT", "ROW_CYCLE_M", "SQUARE_M",
        "UTM_NORTH_DEG", "UTM_SOUTH_DEG", "ALTITUDE_RANGE_M", "BLACKOUT_NT", "CAUTION_NT", "VALID_FROM", "VALID_UNTIL",
        "MOST_LISTED", "MOST_LEFT_OUT", "MOST_NAMED", "LOOSEST_M", "MOST_ITERATIONS", "SMALL_STEP_M",
        "UNCHECKED_BELOW", "BAND_S_NORTHINGS_M", "NEAR_SITE_M", "RADIUS_IN_SIGMAS", "LARGEST_FILE_BYTES",
        "MOST_FEATURES", "DIGITS", "MAX_CELL", "MAX_ELEMENTS", "MAX_XML_DEPTH", "APPLICATION_ID",
        "USER_VERSION", "WGS84_ID", "SYMBOL_SIZE_MM", "LINE_MM", "THIN_MM", "SCREEN_DOTS_PER_MM",
    },
    "records": {
        "_COMMENT_AT", "_WIDTH", "LONGEST_SHOWN", "MAX_ROWS", "TEMPLATE_ROWS", "PIPE_PATIENCE_S", "RECORD_FORMAT",
        "_FEW", "_LONGEST_LIST", "ALIKE", "LEAST_WRITTEN", "POINT_SHIFTS", "MAX_BYTES", "MAX_YAML_DEPTH",
        "LONGEST_REPR", "MAX_DIGITS", "MAX_FAULTS", "MAX_VALUES", "_LONGEST_CODE", "EXAMPLE_SLOPE_DEG", "USUAL_FORM",
    },
    "reference": {
        "LONG_ENOUGH", "LONGER",  # letters of a name that is known with a slip in it
        "US", "EXACT", "COARSE", "FIVE_PERCENT", "TROPICS_DEG", "_LAST_DAY", "SPELLED", "TOWARD", "FEW",
        "SHORTEST_END", "WORTH_A_LIST",
    },
}  # fmt: skip


def asked(name: str) -> set[str]:
    """What the code asks the table for by a function, always in so many words; wordings ask by their own reader."""
    calls = [node for path, tree in TREES.items() if path.name != "findings.py" for node in ast.walk(tree)
             if isinstance(node, ast.Call) and getattr(node.func, "id", "") == name]  # fmt: skip
    return {ast.literal_eval(call.args[0]) for call in calls}


def test_every_row_is_used_and_every_constant_of_the_code_has_a_row():
    worded = "".join((data_folder() / f"{table}.yaml").read_text("utf-8") for table in ("findings", "paper_texts"))
    codes, kinds = asked("constant") | set(re.findall(r"\{=([^{}]+):[^:{}]+\}", worded)), asked("constants")
    assert len(codes) > 200 and len(kinds) > 15
    assert all(constant(code) == constant(code).value for code in codes) and all(constants(kind) for kind in kinds)
    assert [row.code for row in ROWS if row.code not in codes and row.code.partition(": ")[0] not in kinds] == []


def test_no_code_or_name_stands_twice():
    for told in ([row.code for row in ROWS], [row.name for row in ROWS]):
        assert len(told) == len(set(told)) and all(told)


def test_value_lies_within_its_range_and_says_what_it_rests_on():
    """Source and flag are tried with those of the other tables."""
    for row in ROWS:
        assert (row.low is None) == (row.high is None) and row.note, row
        assert row.low is None or row.low <= row.value <= row.high, row


def test_units_are_known():
    known = pint.UnitRegistry()
    known.define("ln = []")  # of a logarithm
    for unit in {row.unit for row in ROWS} - {"share lost"}:
        assert known.parse_units(unit) is not None


def test_a_constant_reckons_as_its_value_and_stays_as_it_is():
    tie = constant("least tie")
    assert tie is constant("least tie") and tie * 2 == 0.6 and f"{tie:g}" == "0.3" and tie.value == float(tie)
    assert stated(tie).value == "0.3 m (plausible 0.2 to 0.5)" and stated(constant("shared anchor")).value == "1 m"
    assert stated(tie).told.in_words("de") == "0,3 m (plausibel 0,2 bis 0,5)"
    assert stated(constant("peak bark pressure")).value == "1000 kPa (plausible 500 to 2000)"
    assert stated(constant("friction grip")).value == "4 kN (plausible 3 to 5)"
    for name in ("value", "low", "name"):
        with pytest.raises(AttributeError):
            setattr(tie, name, 1.0)
    again = pickle.loads(pickle.dumps(tie))  # a process of its own gets it with all it carries
    assert again == tie and vars(again) == vars(tie)
    with pytest.raises(UnknownName, match="no constant"):
        constant("least ties")
    with pytest.raises(UnknownName, match="no constants"):
        constants("least tie")


def test_only_a_constant_with_a_range_has_ends():
    assert constant("bank factor").ends == (constant("bank factor").low, constant("bank factor").high)
    ranged = {row.code: row.low is not None and row.high is not None for row in rows("constants")}
    bare = next(code for code, has in ranged.items() if not has)
    with pytest.raises(ValueError, match=re.escape(bare)):
        _ = constant(bare).ends


def test_a_constant_that_repeats_another_table_agrees_with_it():
    leash = next(row for row in rows("leashes") if row.name == "not known")
    assert constant("unknown leash ea") == leash.ea_kn * 1e3


@pytest.mark.parametrize("language", [one for one in SIDE_BY_SIDE if one != "en"])
def test_what_a_report_prints_has_a_name_in_every_language(language):
    """Those with a range, of this table and of others."""
    others = (*OF_A_HIGH_LINE, *OF_HAULING, *OF_GEAR, *care_assumptions(()))
    told = [*(row.name for row in ROWS if row.low is not None), *(one.name for one in others)]
    assert [name for name in told if word(name, language) == name] == []


def numeric(node: ast.expr) -> bool:
    """Whether an expression is made of numbers written out; what is called with some is a grid or a search."""
    if isinstance(node, ast.Constant):
        return isinstance(node.value, int | float) and not isinstance(node.value, bool)
    if isinstance(node, ast.Dict | ast.Tuple):
        return any(numeric(one) for one in (node.values if isinstance(node, ast.Dict) else node.elts))
    if isinstance(node, ast.Call):  # a class of ours; functions of numpy lay out grids
        return isinstance(node.func, ast.Name) and node.func.id != "range" and any(map(numeric, node.args))
    return isinstance(node, ast.UnaryOp | ast.BinOp) and any(
        numeric(one) for one in ast.iter_child_nodes(node) if isinstance(one, ast.expr))  # fmt: skip


@pytest.mark.parametrize("room", STAY)
def test_no_number_that_decides_stands_bare_in_the_code(room):
    found = set()
    for path, tree in TREES.items():
        if path.parent.name == room:
            for node in tree.body:
                if isinstance(node, ast.Assign) and numeric(node.value):
                    names = node.targets[0].elts if isinstance(node.targets[0], ast.Tuple) else node.targets
                    found |= {name.id for name in names}
    assert found == STAY[room]
