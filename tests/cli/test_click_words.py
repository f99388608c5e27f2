"""What click words itself is told in the language of the command, though it stops before the language is read."""

import pytest

from siteassess.cli import main


def refused(capsys, *args: str) -> str:
    with pytest.raises(SystemExit) as ended:
        main(list(args))
    assert ended.value.code == 2
    return capsys.readouterr().err.splitlines()[-1]


@pytest.mark.parametrize("args, told", [
    (("quick", "load", "--lang", "de", "--bogus", "3"), "eine Option --bogus gibt es nicht"),
    (("quick", "load", "--spann", "3", "--lang=fr"),
     "il n'y a pas d'option --spann ; il y a : --sag, --span, --standing"),
    (("quick", "load", "--lang", "es", "--span"), "la opción --span pide un valor detrás"),
    (("assess", "--lang", "de"), "FILE... fehlt"),
    (("quick", "load", "--bogus", "3"), "No such option '--bogus'."),
    (("quick", "load", "--lang", "xx", "--bogus", "3"), "No such option '--bogus'."),
])  # fmt: skip
def test_a_fault_that_click_words_is_told_in_the_language(capsys, args, told):
    assert told in refused(capsys, *args).replace("\u00a0", " ").replace("\u202f", " ")
