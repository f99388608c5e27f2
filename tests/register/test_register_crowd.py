"""By the rule itself at least five trees of an inventory share all that is told of one."""

from __future__ import annotations

import math

from tree_inventories import helsinki_trees

from siteassess.register.crowd import GIRTH_EDGES_M, LEAST_CANDIDATES, Crowd, KnownTree, TreeTold, girth_class


def test_of_every_tree_of_the_census_at_least_five_would_be_told_alike(census, crowd):
    """Also to somebody who knows the rule by which more or less is told."""
    alike: dict[TreeTold, int] = {}
    for tree in census:
        told = crowd.told(tree.latitude, tree.longitude, tree.genus, tree.girth_m)
        alike[told] = alike.get(told, 0) + 1
    told_nothing = alike.pop(TreeTold(), 0)
    assert min(alike.values()) >= LEAST_CANDIDATES
    # most of what can be told is: the rule does not get by on silence
    kinds = sum(count for told, count in alike.items() if told.genus)
    classes = sum(count for told, count in alike.items() if told.girth_class)
    assert told_nothing < 0.05 * len(census) and kinds > 0.4 * len(census) and classes > 500


def test_where_no_kind_is_known_the_cell_alone_is_told():
    helsinki = helsinki_trees()
    crowd = Crowd(helsinki)
    for tree in helsinki:
        told = crowd.told(tree.latitude, tree.longitude, "quercus", 1.5)
        assert told.genus is None and told.girth_class is None
        assert told.cell is None or len(told.cell.trees) >= LEAST_CANDIDATES


def test_a_cell_is_never_cut_so_that_few_stand_alone():
    # ninety-nine trees in one quarter and one in another: the one must not show by its larger cell
    near = [KnownTree(49.99, 7.99 + i * 1e-6, "tilia", 1.0) for i in range(99)]
    alone = KnownTree(49.97, 7.96, "tilia", 1.0)
    crowd = Crowd([*near, alone])
    assert crowd.told(alone.latitude, alone.longitude, "tilia", 1.0) == crowd.told(49.99, 7.99, "tilia", 1.0)


def test_a_rare_kind_is_not_told_by_leaving_it_untold():
    # four rowans among twenty limes: were the limes named, whoever is not named were a rowan
    place = (50.001, 8.001)
    trees = [KnownTree(*place, "tilia", 1.0)] * 20 + [KnownTree(*place, "sorbus", 1.0)] * 4
    crowd = Crowd(trees)
    assert crowd.told(*place, "tilia", 1.0).genus is None and crowd.told(*place, "sorbus", 1.0).genus is None
    crowd = Crowd([*trees, KnownTree(*place, "acer", 1.0)])
    assert crowd.told(*place, "tilia", 1.0).genus == "tilia" and crowd.told(*place, "sorbus", 1.0).genus is None


def test_girth_classes_meet_at_their_edges():
    words = [girth_class(edge + step) for edge in GIRTH_EDGES_M for step in (-1e-9, 0.0)]
    assert words == ["under 0.6 m", *["0.6 m to under 1.2 m"] * 2, *["1.2 m to under 1.8 m"] * 2, "1.8 m and more"]
    assert girth_class(None) is None and girth_class(math.nan) is None
