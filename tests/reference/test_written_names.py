"""Names as inventories write them: what is taken, what is not, and that none of it is kinder than what the name says.

The names are typed from published lists of cities' trees, or made up after them; which tree each means is common
knowledge of the trade, no source.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.reference.species import find_species, known_species
from siteassess.reference.tables import rows
from siteassess.reference.written_names import is_no_name, joined, written_species

TAKEN = {
    "Tristaniopsis laurina :: Swamp Myrtle": "Tristaniopsis spp.",
    "Pittosporum undulatum :: Victorian Box": "Pittosporum spp.",
    "Lophostemon confertus :: Brisbane Box": "Lophostemon confertus",
    ":: Brisbane box": "Lophostemon confertus",
    "Acer x freemanii 'Autumn Blaze'": "Acer x freemanii",
    "Acer platanoides cv. Emerald Queen": "Acer platanoides",
    "Acer platanoides 'Emerald": "Acer platanoides",
    "TILIA × EUROPAEA L.": "Tilia x europaea",
    "Quercus sp.": "Quercus spp.",
    "Styrax japonica": "Styrax japonicus",
    "Gymnocladus dioica": "Gymnocladus dioicus",
    "Syringa reticulate 'Snow Cone'": "Syringa reticulata",
    "Gingko biloba": "Ginkgo biloba",
    "Liquidamber styraciflua": "Liquidambar styraciflua",
    "Cercidiphylum japonicum - Arbre de katsura": "Cercidiphyllum japonicum",
    "Elaeagnus angustifolia - Olivier de bohème": "Elaeagnus spp.",
    "Lagerstroemimia indica": "Lagerstroemia indica",
    "Washington Hawthorn": "Crataegus spp.",
    "Michelia wilsonii": "Magnolia spp.",
    "Maple, Norway": "Acer platanoides",
    "Linden (Tilia cordata)": "Tilia cordata",
    "Bowhall red maple": "Acer spp.",
    "PYRAMIDAL EUROPEAN HORNBEAM": "Carpinus spp.",
    "Halka Honey Locust": "Gleditsia spp.",
    "Cerisier à fleurs": "Prunus spp.",
    "Tulipier": "Liriodendron tulipifera",
    "Erable plane": "Acer platanoides",
    "Weiß-Dorn": "Crataegus spp.",
    "Japanischer Schnurbaum": "Styphnolobium spp.",
    "Purpur-Hainbuche": "Carpinus spp.",
    "Arce real": "Acer platanoides",
}
# the last word lies, or leaves several trees: nothing is taken
LIES = ("silky oak of nowhere", "Norfolk pine of ours", "Korean mountain ash", "tulip poplar hybrid poplar", "she oak",
        "Alaska cedar", "ironwood", "acacia blanca del sur", "prickly pear", "Zimmerlinde")  # fmt: skip


@pytest.mark.parametrize(("name", "accepted"), TAKEN.items())
def test_what_a_file_writes_is_taken_as_the_tree_it_means(name, accepted):
    match = written_species(name)
    assert match is not None and match.accepted == accepted and match.asked == name


@pytest.mark.parametrize("name", LIES)
def test_a_last_word_that_lies_tells_no_genus(name):
    match = written_species(name)
    assert match is None or not match.genus or match.accepted in {"Grevillea robusta", "Casuarina spp."} or (
        known_species(name) is not None)  # fmt: skip


@pytest.mark.parametrize("name", ["", "::", "Tree(s) ::", "Unknown tree", "Non spécifié sp.", "TBD", "unbekannt",
                                  "otro", "nan", "-"])  # fmt: skip
def test_what_names_no_tree_is_no_name(name):
    assert is_no_name(name) and written_species(name) is None


@pytest.mark.parametrize("name", ["Cordyline australis", "Yucca gloriosa :: Spanish Dagger", "palm",
                                  "Phytolacca dioica"])  # fmt: skip
def test_what_has_no_trunk_of_wood_is_outside_the_model(name):
    match = written_species(name)
    assert match is not None and match.leaf_type == "palm" and match.wood is None


def test_a_name_taken_for_another_says_so_and_an_exact_one_does_not():
    assert written_species("Gingko biloba").note.code == "name-taken-for"
    assert "Ginkgo biloba" in written_species("Gingko biloba").note.in_words()
    assert written_species("Tilia cordata").note is None


def test_a_name_without_its_species_is_the_weakest_of_the_genus():
    assert written_species("Bowhall red maple").wood.mor_pa <= find_species("Acer rubrum").wood.mor_pa
    assert written_species("Texas red oak of the south").wood.mor_pa == find_species("Quercus").wood.mor_pa


@pytest.mark.parametrize("row", [row for row in rows("species") if row.rank == "genus"], ids=lambda row: row.genus)
def test_a_genus_is_never_kinder_than_its_leaf_type_unless_its_density_was_published(row):
    match, bare = find_species(row.genus), find_species(f"unknown {row.leaf_type}")
    if row.leaf_type == "palm":
        assert match.wood is None
        return
    assert match.wood.mor_pa >= bare.wood.mor_pa  # a vaguer name is never kinder
    published = {one.scientific_name.split()[0] for table in ("wood_density", "wood_green") for one in rows(table)}
    if row.genus not in published:
        assert match.wood.mor_pa == bare.wood.mor_pa
    barks = {one.scientific_name.split()[0] for one in rows("bark")}
    if row.genus not in barks:
        assert match.bark.form == bare.bark.form and not match.bark.likely


def test_genus_and_epithet_are_joined_once():
    import numpy as np

    genus = np.array(["Acer", "", "Tilia"], dtype=object)
    assert joined(genus, np.array(["rubrum", "Ulmus minor", "Tilia cordata"], dtype=object)).tolist() == [
        "Acer rubrum", "Ulmus minor", "Tilia cordata"]  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=60))
def test_any_cell_is_read_without_a_fault(text):
    match = written_species(text)
    assert match is None or match.accepted


@settings(max_examples=150, deadline=None)
@given(st.sampled_from([row.scientific_name for row in rows("species")
                        if row.rank == "species" and "'" not in row.scientific_name]), st.data())  # fmt: skip
def test_marks_around_a_name_do_not_matter(name, data):
    dressed = data.draw(st.sampled_from(["{} 'Fastigiata'", "{} (old)", "{} :: some name", "{}™", "  {} ",
                                         "{} cv. Ours"]))  # fmt: skip
    assert written_species(dressed.format(name)).accepted == name
