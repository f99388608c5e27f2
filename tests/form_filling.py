"""Filling in the field form by its own controls, and a record in which every field of the schema is answered.

Import as `from form_filling import ...`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import copy
import datetime

import yaml
from form_browser import FRAMES, add, choose, everything, field, press, screen, type_in

from siteassess.papers.form_data import parts, suggestions
from siteassess.records.fields import SECTORS
from siteassess.records.schema import members


def put_quantity(driver, path: str, text: str) -> None:
    number, unit = text.split(" ", 1)
    type_in(driver, path, number, unit)


def fill(driver, part: str, path: str, values: dict) -> None:
    """Fill in a part by its controls, in the order of the form."""
    for asked in members(parts()[part]):
        if asked.name not in values or (asked.name == "kind" and part in ("Tree", "Boulder", "Other")):
            continue
        value, where = values[asked.name], f"{path}.{asked.name}"
        if asked.kind == "part":
            unfold(driver, where)
            fill(driver, asked.models[0].__name__, where, value)
        elif asked.kind == "parts":
            for index, item in enumerate(value):
                unfold(driver, where)
                if not driver.find_elements("css selector", f"[data-path^='{where}.{index}.']"):
                    press(driver, f"fieldset[data-path='{where}'] > button.add:last-of-type")
                fill(driver, asked.models[0].__name__, f"{where}.{index}", item)
        else:
            answer(driver, asked, where, value)


def in_a_table(asked) -> bool:
    """Whether a text is chosen from the words of a table, with own words beside them."""
    return asked.table not in ("", "rule sets")


def answer(driver, asked, where: str, value) -> None:
    if where.endswith(tuple(f"roots.{sector}" for sector in ("N", "NE", "E", "SE", "S", "SW", "W", "NW"))):
        roots, sector = where.rsplit(".", 1)
        choose(driver, f"{roots}.sector", sector)
        choose(driver, f"{roots}.state", value)
    elif asked.kind == "quantity":
        put_quantity(driver, where, value)
    elif asked.kind == "choice":
        choose(driver, where, value)
    elif asked.kind == "yes or no":
        choose(driver, where, "true" if value else "false")
    elif asked.name in ("anchor", "landmark") or where.startswith("measured_pairs") and asked.kind == "code":
        choose(driver, where, value)
    elif asked.kind in ("date", "time"):
        set_value(driver, where, value)  # a picker takes keys in the order of the phone's own language
    elif asked.kind == "points":
        type_in(driver, where, "\n".join(f"{lat}, {lon}" for lat, lon in value))
    elif in_a_table(asked):
        choose(driver, where, str(value))
        if field(driver, where).get_property("value") != value:
            choose(driver, where, "own words")
            type_in(driver, f"{where}-own", str(value))
    elif asked.kind == "table":
        type_in(driver, where, yaml.safe_dump(value, default_flow_style=True, width=9999).strip())
    else:
        type_in(driver, where, str(value))


STEPS = """const [steps, done] = arguments;
const wait = () => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go)));
const id = (path) => "f-" + path.replaceAll(".", "-").replaceAll(" ", "_");
(async () => {
  for (const [what, path, value, unit] of steps) {
    const node = document.getElementById(id(path));
    if (what === "unfold") {
      const box = document.querySelector(`details[data-path="${path}"]:not([open])`);
      if (box) box.open = true;
      while (box && !box.querySelector(".body").hasChildNodes()) await wait();
    } else if (what === "item") {
      if (!document.querySelector(`[data-path^="${path}."]`)) {
        const list = document.querySelector(`fieldset[data-path="${path.replace(/\\.\\d+$/, "")}"]`);
        list.querySelector(":scope > button.add:last-of-type").click();
      }
    } else if (!node) {
      return done(`no field ${path}`);
    } else if (what === "choose" && node.tagName !== "SELECT") {
      const box = [...node.querySelectorAll("input")].find((one) => one.value === value);
      if (!box) return done(`no answer ${value} at ${path}`);
      box.click();
    } else {
      node.value = value;
      node.dispatchEvent(new Event(node.tagName === "SELECT" ? "change" : "input"));
      if (unit) {
        const list = document.getElementById(id(path) + "-unit");
        list.value = unit;
        list.dispatchEvent(new Event("change"));
      }
    }
  }
  done("");
})();"""


def steps_of(part: str, path: str, values: dict) -> list:
    """What a hand would do to fill in a part, step by step in the order of the form."""
    steps = []
    for asked in members(parts()[part]):
        if asked.name not in values or (asked.name == "kind" and part in ("Tree", "Boulder", "Other")):
            continue
        value, where = values[asked.name], f"{path}.{asked.name}"
        if asked.kind in ("part", "parts"):
            steps.append(["unfold", where])
        if asked.kind == "part":
            steps += steps_of(asked.models[0].__name__, where, value)
        elif asked.kind == "parts":
            for index, item in enumerate(value):
                steps += [["item", f"{where}.{index}"], *steps_of(asked.models[0].__name__, f"{where}.{index}", item)]
        elif part == "Roots" and asked.name in SECTORS:
            steps += [["choose", f"{path}.sector", asked.name], ["choose", f"{path}.state", value]]
        elif asked.kind == "quantity":
            steps.append(["type", where, *value.split(" ", 1)])
        elif asked.kind in ("choice", "yes or no"):
            steps.append(["choose", where, {True: "true", False: "false"}.get(value, value)])
        elif in_a_table(asked) and value not in [name for name, _ in suggestions("en")[asked.table]]:
            steps += [["choose", where, "own words"], ["type", f"{where}-own", value]]
        elif asked.kind == "points":
            steps.append(["type", where, "\n".join(f"{lat}, {lon}" for lat, lon in value)])
        elif asked.kind == "table":
            steps.append(["type", where, yaml.safe_dump(value, default_flow_style=True, width=9999).strip()])
        else:
            steps.append(["type", where, str(value)])
    return steps


def fill_at_once(driver, part: str, path: str, values: dict) -> None:
    """Fill in a part by its controls in one go, inside the page."""
    told = driver.execute_async_script(STEPS, steps_of(part, path, values))
    assert told == "", told


def set_value(driver, path: str, value: str) -> None:
    driver.execute_script(
        "arguments[0].value = arguments[1]; arguments[0].dispatchEvent(new Event('input', {bubbles: true}))",
        field(driver, path), value,
    )  # fmt: skip


def unfold(driver, path: str) -> None:
    for box in driver.find_elements("css selector", f"details[data-path='{path}']:not([open]) > summary"):
        driver.execute_script("arguments[0].click()", box)
        driver.execute_async_script(FRAMES)


def as_list_of_fixes(anchor: dict) -> dict:
    anchor = copy.deepcopy(anchor)
    if "fixes" not in anchor.get("position", {"fixes": []}):
        anchor["position"] = {"fixes": [anchor["position"]]}
    return anchor


def one_tree(form) -> None:
    type_in(form, "site.name", "Otter Mead (invented)")
    type_in(form, "survey.by", "N. Body (invented)")
    set_value(form, "survey.date", datetime.date.today().isoformat())
    screen(form, "anchors")
    everything(form)
    add(form, "tree")
    press(form, "fieldset[data-path='anchors.0.trunk'] > button.add")
    put_quantity(form, "anchors.0.height", "17 m")
    put_quantity(form, "anchors.0.trunk.0.read_at", "1.3 m")


def example_of(part: str, asked, turn: int):
    """Something to put into a field; `turn` tells items of a list apart."""
    if asked.kind == "part":
        return example_part(asked.models[0], turn)
    if asked.kind == "parts":
        return [example_part(asked.models[0], turn), example_part(asked.models[0], turn + 1)]
    if asked.kind == "quantity":
        return asked.example
    if asked.kind == "choice":
        others = [choice for choice in asked.choices if choice != asked.default]  # what counts anyhow need not be typed
        return others[turn % len(others)]
    if asked.name in ("country", "time_zone", "path"):
        return {"country": "NL", "time_zone": "Europe/Oslo", "path": f"photos/{turn}.jpg"}[asked.name]
    if asked.kind in ("number", "whole number"):
        return {"lat": 52.123456, "lon": -4.5}.get(asked.name, int(asked.low) + 1)
    simple = {
        "text": f"{part} {asked.name} {turn}", "code": f"X{turn}", "date": f"2026-01-0{turn + 1}", "time": "09:30",
        "yes or no": turn % 2 == 0, "points": [[52.1234, -4.5001], [52.1236, -4.4998]],
        "table": {"id": "x", "clauses": [1, "no"]},
    }  # fmt: skip
    return simple[asked.kind]


def example_part(model, turn: int) -> dict:
    name = model.__name__
    made = {asked.name: example_of(name, asked, turn) for asked in members(model)}
    # what cannot stand together stands in turns
    gone = {"TrunkReading": (("girth",), ("diameter",)), "Fix": (("at",), ("lat", "lon")),
            "Standing": (("sag", "sag_under"), ("tension",))}.get(name, ((), ()))[turn % 2]  # fmt: skip
    made = {key: value for key, value in made.items() if key not in gone}
    if name == "Tie":
        made["landmark"] = "M0"
    return made


def fullest() -> dict:
    """A record in which every field of the schema is answered somewhere."""
    models = parts()
    made = {"siteassess_record": 1, "note": "all of it"}
    made["site"] = example_part(models["Site"], 0)
    made["site"]["landmarks"] = [{"code": "M0", "what": "a bench", "position": example_part(models["Position"], 0)}]
    made["site"]["landmarks"][0]["position"].pop("ties")
    made["survey"] = example_part(models["Survey"], 0)
    kinds = (("tree", "Tree"), ("boulder", "Boulder"), ("other", "Other"))
    made["anchors"] = [
        example_part(models[name], 0) | {"kind": kind, "code": f"A{index}"} for index, (kind, name) in enumerate(kinds)
    ]
    made["lines"] = [example_part(models["Line"], turn) | {"id": f"L{turn}"} for turn in (0, 1)]
    for line in made["lines"]:
        line["a"]["anchor"], line["b"]["anchor"] = "A0", "A1"
        line["planned"] |= {"date": "2026-02-01", "until": "2026-02-02"}
    made["measured_pairs"] = [example_part(models["MeasuredPair"], 0) | {"a": "A0", "b": "M0"}]
    return made


def answered(record: dict, models: dict) -> set:
    """Every field by its part that a plain record answers."""
    seen: set = set()

    def walk(model, values: dict) -> None:
        for asked in members(model):
            if values.get(asked.name) in (None, [], {}):
                continue
            seen.add((model.__name__, asked.name))
            inside = values[asked.name] if asked.kind == "parts" else [values[asked.name]]
            for item in inside if asked.models else ():
                by_kind = {one.__name__.lower(): one for one in asked.models}
                walk(by_kind[item["kind"]] if len(asked.models) > 1 else asked.models[0], item)

    walk(models["Record"], record)
    return seen
