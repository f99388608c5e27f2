"""Every `siteassess quick` sum at least once, and each of the things it may say beside its numbers."""

ROOT = ("root", "--diameter", "40 cm", "--height", "18 m", "--tie", "1 m", "--pull", "5 kN")
STEM = ("stem", "--species", "Quercus", "--diameter", "40 cm", "--tie", "1.3 m", "--pull", "5 kN")
BARK = ("bark", "--pull", "5 kN", "--diameter", "50 cm", "--width", "5 cm")
BOULDER = ("boulder", "--along", "1.4 m", "--across", "1.6 m", "--upright", "0.9 m", "--tie", "0.4 m", "--pull", "1 kN")
LOAD = ("load", "--span", "40 m", "--standing", "3 kN", "--load", "800 N")
SLING = ("sling", "--pull", "10 kN", "--diameter", "0.5 m")
HAUL = ("haul", "--people", "2", "--stages", "3,3", "--efficiency", "0.9")
TIGHT = ("tight", "--span", "30 m", "--tie-a", "1.2 m", "--webbing-class", "nylon", "--people", "2", "--stages", "3,3",
         "--efficiency", "0.9")  # fmt: skip

SUMS = (
    (*LOAD, "--webbing-class", "nylon", "--strength", "3 kN"),
    (*LOAD, "--webbing-class", "nylon", "--strength", "9 kN"),
    (*LOAD, "--stiffness", "6 kN", "--mass", "60 g/m"),
    ("load", "--span", "300 m", "--standing", "20 N", "--stiffness", "1000 kN", "--mass", "100 g/m", "--load", "0 N"),
    ("bearing", "51.5", "0", "51.6", "0", "--date", "2026-01-01"),
    ("bearing", "51.5", "0", "51.6", "0", "--date", "2035-01-01"),
    ("bearing", "51.5", "0", "51.5", "0"),
    ROOT, (*ROOT, "--soil", "firm"), (*ROOT, "--soil", "saturated", "--species", "Acer"), (*ROOT, "--root-loss", "10%"),
    (*ROOT, "--root-loss", "40%"), (*ROOT, "--root-loss", "60%"), (*ROOT, "--diameter", "28 cm"),
    (*ROOT, "--diameter", "19 cm"), (*ROOT, "--diameter", "20 cm", "--height", "25 m"), (*ROOT, "--pull", "50 kN"),
    (*ROOT, "--root-loss", "40%", "--pull", "50 kN"), (*ROOT, "--height", "9 m", "--pull", "50 kN"),
    (*ROOT, "--diameter", "36 cm", "--pull", "1 kN", "--for", "high"), (*ROOT, "--pull", "12 kN"),
    STEM, (*STEM, "--wall", "10 cm"), (*STEM, "--wall", "3 cm"), (*STEM, "--fork"), (*STEM, "--species", "white oak"),
    (*STEM, "--species", "unknown conifer"), (*STEM, "--species", "Quercus pedunculata"), (*STEM, "--species", "palm"),
    (*STEM, "--species", "Fagus sylvatica"),
    BARK, (*BARK, "--link", "0.26 m"), (*BARK, "--width", "30 cm", "--species", "white oak", "--month", "1"),
    (*BARK, "--wrap", "turns", "--strands", "2"),
    BOULDER, (*BOULDER, "--edge", "0.5 m", "--rock", "granite", "--bed", "wet soil"), (*BOULDER, "--pull", "9 kN"),
    HAUL, (*HAUL, "--webbing-class", "nylon", "--friction-grip"), (*HAUL, "--people", "1"),
    (*TIGHT, "--standing", "4 kN"), (*TIGHT, "--people", "6", "--re-tensioned", "2"), (*TIGHT, "--tie-a", "0.3 m"),
    (*SLING, "--link", "0.75 m"), (*SLING, "--link", "0.27 m", "--wrap", "choker", "--off-middle", "50 deg"),
    (*SLING, "--link", "0.2 m"), (*SLING, "--link", "0.75 m", "--off-middle", "50 deg"),
)  # fmt: skip
