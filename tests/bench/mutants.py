"""Which changed decisions no test notices: one small change of the code at a time, and the tests that run that line.

From the checkout, with `coverage` installed beside the test extra; both steps can be stopped and go on where they were:

    python tests/bench/mutants.py cover WORK tests/advice tests/register ...   which test runs which line
    python tests/bench/mutants.py run WORK [--part 0/2] [--only judge.py] [--since REV] [--again] [--soon]

A change is a comparison moved to or off its edge or turned round, `and` for `or`, a condition denied, `min` for `max`,
a sum for a difference, a product for a quotient, a number a tenth larger, a truth turned, a statement left out. Texts
are left alone. A change that no test notices is printed; whether it is one that cannot be noticed is for a reader, who
writes it down with the reason in `mutants_alike.csv`: it is not tried again while its line reads the same. With
`--since` only what stands on lines new or altered since a revision is tried, or begins an expression that reaches them.

No mutation tester of the trade fits: they try whole texts too, know which test runs which function but not which line,
and run every test of a function where a change survives, which for the judge is all of them. The import of the changed
module is done here, in a process forked from one that has loaded everything else; a changed function is given its new
code where it stands.
"""

from __future__ import annotations

import argparse
import ast
import bisect
import collections
import contextlib
import csv
import functools
import itertools
import json
import os
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

from changed_code import put_in

ROOT = Path(__file__).resolve().parents[2]
JUDGED = [
    "advice/hold.py", "advice/judge.py", "advice/end_loads.py", "advice/tree_inputs.py", "advice/trunk_inputs.py",
    "advice/care.py", "advice/care_results.py", "advice/remedies.py", "advice/changes.py",
    "advice/season.py", "advice/ground.py", "advice/rootzone_plan.py", "advice/line_setting.py", "advice/entries.py",
    "advice/under_line.py", "advice/surroundings.py", "advice/crossings.py", "advice/rule_hours.py",
    "mechanics/bark.py", "mechanics/roots.py", "records/trunk.py", "records/agreement.py", "register/standing.py",
]  # fmt: skip
FIRST, MOST_S, LONGEST_S = 60, 10.0, 1800  # tests tried at first, and for how long; patience with the rest

EDGES = {ast.Lt: [ast.LtE, ast.GtE], ast.LtE: [ast.Lt, ast.Gt], ast.Gt: [ast.GtE, ast.LtE], ast.GtE: [ast.Gt, ast.Lt],
         ast.Eq: [ast.NotEq], ast.NotEq: [ast.Eq], ast.Is: [ast.IsNot], ast.IsNot: [ast.Is], ast.In: [ast.NotIn],
         ast.NotIn: [ast.In], ast.And: [ast.Or], ast.Or: [ast.And], ast.Add: [ast.Sub], ast.Sub: [ast.Add],
         ast.Mult: [ast.Div], ast.Div: [ast.Mult]}  # fmt: skip
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any", "minimum": "maximum", "maximum": "minimum",
         "fmin": "fmax", "fmax": "fmin", "nanmin": "nanmax", "nanmax": "nanmin", "argmax": "argmin"}  # fmt: skip
LARGER = {"constant": "lambda one: type(one)(one * 1.1 or 1.0, **vars(one))",  # of the table, asked for by a file
          "constants": "lambda many: {of: type(one)(one * 1.1 or 1.0, **vars(one)) for of, one in many.items()}"}


# ---- the changes


def changes(tree: ast.Module):
    """Every change of a module: line, words for it, and a function that does it to a copy of the tree."""
    nodes = list(ast.walk(tree))
    skip = {id(part) for node in nodes for part in _left_alone(node)}
    for number, node in enumerate(nodes):
        if id(node) not in skip:
            for words, do in _of(node):
                yield node.lineno, words, (number, do)


def _left_alone(node):
    """Texts, annotations and decorators."""
    parts = [getattr(node, "annotation", None), getattr(node, "returns", None), *getattr(node, "decorator_list", ())]
    for part in (*parts, node if isinstance(node, ast.JoinedStr) else None):
        yield from ast.walk(part) if part else ()


def _of(node):
    def put(name, value):
        return lambda found: setattr(found, name, value)

    if isinstance(node, ast.Compare):
        for place, op in enumerate(node.ops):
            which = f" {place}" if len(node.ops) > 1 else ""
            for other in EDGES.get(type(op), ()):
                ops = [*node.ops[:place], other(), *node.ops[place + 1 :]]
                yield f"{type(op).__name__}{which} -> {other.__name__}", put("ops", ops)
    elif isinstance(node, (ast.BoolOp, ast.BinOp, ast.AugAssign)):
        texts = isinstance(node, ast.BinOp) and any(
            isinstance(side, ast.JoinedStr) or isinstance(side, ast.Constant) and isinstance(side.value, str)
            for side in (node.left, node.right))  # fmt: skip
        for other in () if texts else EDGES.get(type(node.op), ()):
            yield f"{type(node.op).__name__} -> {other.__name__}", put("op", other())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield "not left out", put("operand", ast.UnaryOp(ast.Not(), node.operand))
    elif isinstance(node, (ast.If, ast.IfExp, ast.While)) and not isinstance(node.test, (ast.Compare, ast.UnaryOp)):
        yield "condition denied", put("test", ast.UnaryOp(ast.Not(), node.test))
    elif isinstance(node, ast.comprehension):
        for place, test in enumerate(node.ifs):
            if not isinstance(test, (ast.Compare, ast.UnaryOp)):
                ifs = [*node.ifs[:place], ast.UnaryOp(ast.Not(), test), *node.ifs[place + 1 :]]
                node.lineno = test.lineno
                yield "condition denied", put("ifs", ifs)
    elif isinstance(node, ast.Name) and node.id in NAMES and isinstance(node.ctx, ast.Load):
        yield f"{node.id} -> {NAMES[node.id]}", put("id", NAMES[node.id])
    elif isinstance(node, ast.Call) and getattr(node.func, "id", "") in LARGER:
        yield f"{ast.unparse(node)} a tenth larger", _larger
    elif isinstance(node, ast.Attribute) and node.attr in NAMES:
        yield f"{node.attr} -> {NAMES[node.attr]}", put("attr", NAMES[node.attr])
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield f"{node.value} turned", put("value", not node.value)
    elif isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
        other = node.value * 1.1 if isinstance(node.value, float) and node.value else node.value + 1
        yield f"{node.value} -> {other:g}", put("value", other)
    elif isinstance(node, ast.Expr) and not isinstance(node.value, (ast.Constant, ast.Yield, ast.YieldFrom)):
        yield "statement left out", put("value", ast.Constant(None))
    elif isinstance(node, (ast.Continue, ast.Break)):
        yield f"{type(node).__name__} left out", lambda found: setattr(found, "__class__", ast.Pass)


def _larger(found: ast.Call) -> None:
    """The call asks the table as before, and what it gets is made larger with all that it carries."""
    larger = ast.parse(LARGER[found.func.id], mode="eval").body
    found.func, found.args = larger, [ast.Call(found.func, found.args, [])]


def changed(path: Path, number: int, do):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    node = list(ast.walk(tree))[number]
    do(node)
    return compile(ast.fix_missing_locations(tree), str(path), "exec")


# ---- which test runs which line


class _Switch:
    """Tells coverage which test runs, its fixtures included, and writes down how long it took."""

    def __init__(self, measured):
        self.measured, self.took = measured, {}

    def pytest_runtest_logreport(self, report):
        self.took[report.nodeid] = self.took.get(report.nodeid, 0.0) + report.duration

    def pytest_runtest_logstart(self, nodeid, location):
        self.measured.switch_context(nodeid)


def cover(work: Path, tests: list[str]) -> None:
    """Run tests one by one under coverage; each path given gets a file of its own, so that several may run at once."""
    import coverage
    import pytest

    os.chdir(ROOT)
    for part in tests:
        name = part.replace("/", "_").removesuffix(".py")
        if (work / f"{name}.json").exists():
            continue
        data = work / f"{name}.coverage"
        measured = coverage.Coverage(data_file=str(data), include=[str(ROOT / "siteassess" / one) for one in JUDGED])
        switch = _Switch(measured)
        measured.start()
        pytest.main(["-q", "-p", "no:cacheprovider", "-p", "no:xdist", part], plugins=[switch])
        measured.stop()
        measured.save()
        (work / f"{name}.json").write_text(json.dumps(switch.took))


class Lines:
    """The tests of a line, the quickest of each file first."""

    def __init__(self, work: Path):
        import coverage

        self.took: dict[str, float] = {}
        self.of: dict[tuple[str, int], set[str]] = collections.defaultdict(set)
        for told in work.glob("*.json"):
            self.took |= json.loads(told.read_text())
        for found in work.glob("*.coverage"):
            data = coverage.CoverageData(str(found))
            data.read()
            for file in data.measured_files():
                for line, tests in data.contexts_by_lineno(file).items():
                    self.of[file, line] |= {test for test in tests if test}
        self.answers = functools.cache(answers)
        self.text = functools.cache(lambda file: (ROOT / file).read_text(encoding="utf-8"))
        self.noticed_by: collections.Counter = collections.Counter()
        self.files = collections.defaultdict(list)
        for test in self.took:
            self.files[test.split("::")[0]].append(test)

    def tests(self, path: Path, tree: ast.Module, line: int) -> list[str]:
        """Of what runs the line; of a line outside any function, of what runs the lines that name what it sets."""
        found = set(self.of[str(path), line])
        whole = next((node for node in tree.body if node.lineno <= line <= node.end_lineno), None)
        if isinstance(whole, (ast.Assign, ast.AnnAssign)):
            set_here = {node.id for node in ast.walk(whole) if isinstance(node, ast.Name)}
            for other in (ROOT / "siteassess" / one for one in JUDGED):
                for node in ast.walk(ast.parse(other.read_text(encoding="utf-8"))):
                    if isinstance(node, (ast.Name, ast.Attribute)) and getattr(node, "id", "") in set_here:
                        found |= self.of[str(other), node.lineno]
        elif not found and whole is not None:  # a default or a field, or the later lines of a statement
            around = [node for node in ast.walk(whole) if isinstance(node, (ast.stmt, ast.expr))
                      and node.lineno <= line <= node.end_lineno]  # fmt: skip
            for node in sorted(around, key=lambda node: node.end_lineno - node.lineno):
                found = set().union(*(self.of[str(path), at] for at in range(node.lineno, node.end_lineno + 1)))
                if found:
                    break
        return self._most_telling(found, _words_of(whole))

    def _most_telling(self, tests: set[str], words: set[str]) -> list[str]:
        """First files that use words of the function, and what noticed most; then of each file the quickest."""
        seen, ranked = collections.Counter(), []
        names = {file: any(word in self.text(file) for word in words) for file in {one.split("::")[0] for one in tests}}
        for test in sorted(tests, key=self.took.get):
            file = test.split("::")[0]
            telling = self.noticed_by[test] / (1 + self.took[test]) + 2 * names[file]
            ranked.append((-telling, seen[file], self.took[test], test))
            seen[file] += 1
        return [test for *_, test in sorted(ranked)]

    def beside(self, tests: list[str]) -> list[str]:
        """The other tests of their files: what one test worked out may be kept for the next."""
        files = {test.split("::")[0] for test in tests}
        return sorted((test for file in files for test in self.files[file] if test not in set(tests)),
                      key=self.took.get)  # fmt: skip


def _words_of(whole: ast.AST | None) -> set[str]:
    """The name of a function and the codes in it, by which a test of it would know it."""
    nodes = ast.walk(whole) if whole else ()
    texts = {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    return {text for text in texts if re.fullmatch(r"[a-z]+(-[a-z]+)+", text)} | {getattr(whole, "name", "")} - {""}


# ---- trying a change


class _First:
    """Hands on the name of the first test that fails."""

    def __init__(self, pipe: int):
        self.pipe = pipe

    def pytest_runtest_logreport(self, report):
        if report.failed:
            os.write(self.pipe, report.nodeid.encode())


def noticed(name: str, path: Path, number: int, do, tests: list[str], patience: float,
            was: dict[str, dict] | None = None, remedies: bool = False) -> str:  # fmt: skip
    """The test that fails first, or that some does not come to an end, with a change; tried in a process of its own."""
    told, tells = os.pipe()
    child = os.fork()
    if not child:
        code = 1
        with contextlib.suppress(BaseException):
            os.setpgrp()
            for stream in (1, 2):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream)
            put_in(name, path, changed(path, number, do))
            for of in _answers_that_moved(was or {}, remedies):
                os.write(tells, f"the answer to {of}".encode())
                os._exit(1)
            if not tests:
                os._exit(0)
            import pytest

            given = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", *tests]
            code = int(pytest.main(given, plugins=[_First(tells)]))
        os._exit(code)
    os.close(tells)
    until = time.monotonic() + patience
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            if os.waitstatus_to_exitcode(status) in (4, 5):
                raise SystemExit(f"these tests are not there: {tests}")
            with os.fdopen(told, "rb") as first:
                return (first.readline().decode() or "does not load") if status else ""
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(told)
    return "no end"


def answers(remedies: bool) -> dict[str, dict]:
    """By name the whole answers of `tests/answers_as_before.py`; with remedies, which take long, some drawn by lot."""
    from answers_as_before import answer, records

    made = records()
    names = random.Random(0).sample(sorted(made), len(made) // (4 if remedies else 1))
    return {name: answer(name, made[name], remedies) for name in names}


def _answers_that_moved(was: dict[str, dict], remedies: bool):
    """Names of records whose whole answer is not the one without the change."""
    from answers_as_before import answer, moved, records

    made = records()
    for name in was:
        try:
            differs = moved(was[name], answer(name, made[name], remedies))
        except Exception as error:
            differs = name = f"{name}, which ends in {type(error).__name__}"
        if differs:
            yield name


def is_noticed(lines: Lines, path: Path, tests: list[str], change, soon: bool) -> str:
    """By which test: by quick ones of its line, then by all of them and those beside them; `soon` by the first only."""
    ends = list(itertools.accumulate(lines.took[test] for test in tests))
    first = tests[: max(1, min(FIRST, bisect.bisect(ends, MOST_S)))]  # none where nothing but a loading runs the line
    name = "siteassess." + str(path.relative_to(ROOT / "siteassess")).removesuffix(".py").replace("/", ".")
    rest = tests[len(first) :] + lines.beside(tests)
    seek = path.stem == "remedies"
    was = {} if "register" in name else lines.answers(seek)
    return noticed(name, path, *change, first, 6 * MOST_S, was, seek) or (
        noticed(name, path, *change, rest, LONGEST_S) if rest and not soon else "")  # fmt: skip


def run(work: Path, part: str, only: str, since: str, again: bool, soon: bool) -> None:
    """Try the changes of a part; what was tried before is not tried again, but for survivors where that is asked."""
    os.chdir(ROOT)
    sys.path[:0] = [str(ROOT), str(ROOT / "tests")]
    import pytest  # noqa: F401 what every child needs is loaded once

    import siteassess.advice.assess
    import siteassess.cli  # noqa: F401

    place, parts = map(int, part.split("/"))
    lines, known = Lines(work), {}
    for one in (json.loads(row) for told in sorted(work.glob("*.jsonl")) for row in told.open()):
        known[tuple(one["change"])] = one["noticed"]
        lines.noticed_by[one.get("by")] += 1
    print(f"{sum(known.values())} of {len(known)} noticed before", flush=True)
    with (Path(__file__).parent / "mutants_alike.csv").open(encoding="utf-8", newline="") as table:
        alike = {(one["file"], one["line"], one["change"], int(one["which"])) for one in csv.DictReader(table)}
    tried = work / f"tried-{place}.jsonl"
    for key, path, tree, line, change in _by_lot(only, since)[place::parts]:
        was = known.get(key)
        if key in alike or was or (was is False and not again):
            continue
        tests = lines.tests(path, tree, line)
        by = is_noticed(lines, path, tests, change, soon)
        lines.noticed_by[by] += 1
        with tried.open("a") as out:
            one = {"change": key, "noticed": bool(by), "line": line, "tests": len(tests), "by": by}
            out.write(json.dumps(one) + "\n")
        if not by:
            print(f"{key[0]}:{line} {key[2]} ({len(tests)} tests): {key[1]}", flush=True)


def _lines_since(path: Path, tree: ast.Module, since: str) -> set[int]:
    """Lines of a file that are new or altered since a revision, and those on which an expression over them begins."""
    told = subprocess.run(["git", "diff", "-U0", since, "--", path], capture_output=True, text=True, check=True).stdout
    hunks = re.findall(r"^@@ -\S+ \+(\d+),?(\d*) @@", told, re.MULTILINE)
    new = {line for first, many in hunks for line in range(int(first), int(first) + int(many or 1))}
    return new | {node.lineno for node in ast.walk(tree)
                  if isinstance(node, ast.expr) and not new.isdisjoint(range(node.lineno, node.end_lineno + 1))}


def _by_lot(only: str, since: str) -> list[tuple]:
    """Every change of the files, in an order drawn by lot: a run that is stopped has tried a fair sample."""
    found = []
    for file in (file for file in JUDGED if only in file):
        path = ROOT / "siteassess" / file
        text = path.read_text(encoding="utf-8")
        tree, rows = ast.parse(text), text.splitlines()
        wanted = _lines_since(path, tree, since) if since else set(range(1, len(rows) + 1))
        seen = collections.Counter()  # the same change of the same words, told apart by their order
        for line, words, change in changes(ast.parse(text)):
            what = (file, rows[line - 1].strip(), words)
            if line in wanted:
                found.append(((*what, seen[what]), path, tree, line, change))
            seen[what] += 1
    random.Random(0).shuffle(found)
    return found


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("step", choices=["cover", "run"])
    asked.add_argument("work", type=Path)
    asked.add_argument("tests", nargs="*")
    asked.add_argument("--part", default="0/1")
    asked.add_argument("--only", default="")
    asked.add_argument("--since", default="", help="a revision: only what is new or altered since")
    asked.add_argument("--again", action="store_true", help="also those that nothing noticed before")
    asked.add_argument("--soon", action="store_true", help="by the quickest tests of each line only")
    how = vars(asked.parse_args())
    step, tests = how.pop("step"), how.pop("tests")
    how["work"].mkdir(parents=True, exist_ok=True)
    cover(how["work"], tests) if step == "cover" else run(**how)
