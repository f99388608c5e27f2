// Draws the form from the schema. Texts are set as texts, never as markup.
const SVG = "http://www.w3.org/2000/svg";

/** An element with attributes and children; texts become text nodes. */
function el(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "value" || name === "checked") node[name] = value;
    else if (value !== false && value !== undefined) node.setAttribute(name, value === true ? "" : value);
  }
  const told = children.flat().filter((child) => child !== undefined && child !== null && child !== "");
  node.append(...told.map((child) => (typeof child === "string" ? child.replace(/(\S) (?=[;:?!](?!\S))/g, "$1\u00a0") : child))); // French marks
  return node;
}

function svg(tag, attributes = {}, ...children) {
  const node = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  node.append(...children);
  return node;
}

const idOf = (path) => `f-${path.join("-").replaceAll(" ", "_")}`;
const button = (words, act, more = {}) => el("button", { type: "button", onclick: act, ...more }, words);

// ---- what is drawn again when anything changes: small parts that work themselves out from the record

let live = [];
let refreshing = 0;
function alive(node, update) {
  live.push({ node, update });
  update(node); // at once, so that nothing moves under the finger a moment later
  return node;
}
function refreshSoon() {
  clearTimeout(refreshing);
  refreshing = setTimeout(refresh, 60);
}
function refresh() {
  live = live.filter(({ node }) => node.isConnected);
  live.forEach(({ node, update }) => update(node));
  showNotes();
}

/** Puts what is doubtful beside the field it is about, or beside the nearest part that is drawn. */
function showNotes() {
  const said = new Map();
  for (const found of [...disagreements(state.record), ...doubts(state.record)]) {
    const path = [...found.path];
    while (path.length && !document.getElementById(`${idOf(path)}-note`)) path.pop();
    if (path.length) said.set(idOf(path), [...(said.get(idOf(path)) ?? []), sentenceOf(found)]);
  }
  for (const note of document.querySelectorAll(".note")) {
    const own = note.fault?.() ?? "";
    const texts = [own, ...(said.get(note.id.slice(0, -5)) ?? [])].filter(Boolean);
    const joined = texts.join("\n");
    if (note.textContent !== joined) note.textContent = joined;
    document.getElementById(note.id.slice(0, -5))?.setAttribute("aria-invalid", own ? "true" : "false");
  }
}

const noteFor = (path, fault) => {
  const note = el("p", { class: "note", id: `${idOf(path)}-note`, "aria-live": "polite" });
  note.fault = fault;
  return note;
};

// ---- one field

const isAsked = (field) => (state.mode === "full" || field.quick || field.name === "photos") && field.name !== "siteassess_record";

/** All asked fields of a part. */
function drawPart(part, path) {
  return inOrder(part).filter((field) => isAsked(field) && !(field.name === "kind" && isAnchor(part)))
    .map((field) => drawField(part, field, [...path, field.name]));
}
const isAnchor = (part) => Object.values(form.kinds).includes(part);

function drawField(part, field, path) {
  const special = SPECIAL[`${part}.${field.name}`] ?? SPECIAL[field.name];
  if (special) return special(field, path);
  if (field.kind === "part") return drawBlock(field, path);
  if (field.kind === "parts") return drawList(field, path);
  return drawLeaf(field, path, controlOf(field, path));
}

/** A single answer: its question, its control, and the line that says what is doubtful. */
function drawLeaf(field, path, control, more) {
  const note = noteFor(path, () => faultOf(field, at(path)));
  const grouped = control.getAttribute("role") === "radiogroup";
  const label = grouped
    ? el("span", { class: "ask", id: `${idOf(path)}-ask` }, askOf(field))
    : el("label", { class: "ask", for: idOf(path) }, askOf(field));
  return el("div", { class: "field", "data-path": path.join(".") }, label, control, more, note);
}

function askOf(field) {
  return field.required ? [field.ask, " ", el("span", { class: "needed" }, say("needed"))] : [field.ask];
}

function controlOf(field, path) {
  switch (field.kind) {
    case "quantity": return quantityControl(field, path);
    case "choice": return choiceControl(field, path, field.choices);
    case "yes or no": return yesNoControl(field, path);
    case "date": return dayControl(field, path);
    case "time": return timeControl(field, path);
    case "number": case "whole number": return numberControl(field, path);
    case "points": return pointsControl(field, path);
    case "table": return tableControl(field, path);
    default: return field.suggest && field.suggest !== "rule sets" ? wordControl(field, path) : textControl(field, path);
  }
}

const described = (path) => ({ id: idOf(path), "aria-describedby": `${idOf(path)}-note`, "data-path": path.join(".") });
const tame = (text) => text.replace(FORBIDDEN, "");

const LONG_TEXTS = ["notes", "conditions", "level", "access", "note", "credit"];
function textControl(field, path) {
  const value = at(path) ?? proposed(path) ?? "";
  const long = LONG_TEXTS.includes(field.name) || String(value).includes("\n");
  const input = el(long ? "textarea" : "input", {
    ...described(path), value, autocomplete: "off", spellcheck: "false", rows: long ? 2 : undefined,
    autocapitalize: field.kind === "code" ? "characters" : "sentences",
    placeholder: field.example ? say("such-as", { example: field.example }) : undefined,
    oninput: () => put(path, tame(input.value)),
  });
  if (!field.suggest) return input;
  return el("div", {}, input, suggestionsFor(input, path, (typed) => form.suggested[field.suggest]
    .filter(([name]) => knownKey(name).includes(knownKey(typed)) && name !== typed)));
}

/** Buttons under a text that fill it in; shown while it is being typed in. */
function suggestionsFor(input, path, find) {
  const list = el("div", { class: "suggestions", "aria-live": "polite" });
  const offer = () => {
    const found = find(input.value).slice(0, 6);
    list.replaceChildren(...found.map(([name, beside]) => button(beside ? `${name} · ${beside}` : name, () => {
      input.value = name;
      put(path, name);
      list.replaceChildren();
      input.focus();
    })));
  };
  input.addEventListener("input", offer);
  input.addEventListener("focus", offer);
  // put away once the finger is elsewhere, but not before a tap on the list has been taken
  input.addEventListener("blur", () => setTimeout(() => {
    if (!list.contains(document.activeElement) && document.activeElement !== input) list.replaceChildren();
  }, 300));
  return list;
}

/** A number and its unit; what is kept is the text of both, as it was typed. */
function quantityControl(field, path) {
  const typed = splitQuantity(at(path), field);
  const units = [...new Set([...Object.keys(form.units[field.of]), typed.unit])].filter(Boolean);
  const keepIt = () => {
    const number = tame(input.value).trim();
    // feet and inches typed together carry their units with them
    put(path, number && (/[a-z'"°%\u2032\u2019\u2033\u201d\u201c]/i.test(number) ? number : `${number} ${unit.value}`));
  };
  const input = el("input", {
    ...described(path), value: typed.number, inputmode: "decimal", autocomplete: "off",
    placeholder: field.example.replace(/ [^ ]+$/, "") && say("such-as", { example: exampleIn(field) }), oninput: keepIt,
  });
  const unit = el("select", { "aria-label": say("unit-of", { ask: field.ask }), id: `${idOf(path)}-unit`, onchange: keepIt },
    units.map((one) => el("option", { value: one }, one)));
  unit.value = typed.unit || field.unit;
  return el("div", { class: "row" }, field.least < 0 ? signButton(input, keepIt) : undefined, input, unit);
}

const exampleIn = (field) => {
  const read = readQuantity(field.example, field.of);
  const factor = form.units[field.of][field.unit];
  return read.unit === field.unit || !factor ? read.number : String(Number((read.si / factor).toPrecision(2)));
};

/** Pads for numbers have no minus on some phones. */
const signButton = (input, keepIt) => button("±", () => {
  input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`;
  keepIt();
}, { "aria-label": say("plus-minus"), class: "small" });

function splitQuantity(text, field) {
  if (!filled(text)) return { number: "", unit: "" };
  const read = String(text).match(/^\s*([-+0-9.,]*)\s*(.*?)\s*$/s);
  const known = read && Object.hasOwn(form.units[field.of], read[2]);
  return known ? { number: read[1], unit: read[2] } : { number: String(text), unit: "" };
}

function numberControl(field, path) {
  const keepIt = () => put(path, tame(input.value).trim());
  const input = el("input", {
    ...described(path), value: at(path) ?? "", autocomplete: "off", oninput: keepIt,
    inputmode: field.kind === "number" ? "decimal" : "numeric", placeholder: field.preset !== undefined ? String(field.preset) : undefined,
  });
  return field.low < 0 ? el("div", { class: "row" }, signButton(input, keepIt), input) : input;
}

function dayControl(field, path) {
  const value = at(path) ?? proposed(path) ?? "";
  const input = el("input", { ...described(path), type: value && !isDay(value) ? "text" : "date", value, oninput: () => put(path, input.value) });
  const now = button(say("today"), () => {
    input.type = "date";
    input.value = today();
    put(path, input.value);
  }, { class: "small" });
  return el("div", { class: "row" }, input, now);
}

function timeControl(field, path) {
  const value = at(path) ?? "";
  const input = el("input", { ...described(path), type: value && faultOf(field, value) ? "text" : "time", value, oninput: () => put(path, input.value) });
  return input;
}

const MOST_BUTTONS = 4;
/** Few answers are buttons, many are a list. What counts without an answer is shown as chosen. */
function choiceControl(field, path, choices) {
  const shown = at(path) ?? field.preset;
  const all = filled(shown) && !choices.includes(shown) ? [...choices, shown] : choices;
  if (all.length > MOST_BUTTONS || (!filled(field.preset) && !field.required)) return choiceList(field, path, all, shown);
  const control = radios(path, all.map((choice) => [choice, choiceWord(choice)]), shown, (choice) => put(path, choice));
  if (choices.includes("not looked")) control.classList.add("three");
  return control;
}

function choiceList(field, path, choices, shown) {
  const blank = filled(field.preset) ? [] : [el("option", { value: "" }, say("not-answered"))];
  const list = el("select", { ...described(path), onchange: () => put(path, list.value) },
    [...blank, ...choices.map((choice) => el("option", { value: choice }, choiceWord(choice)))]);
  list.value = shown ?? "";
  return list;
}

function radios(path, choices, shown, choose, picture) {
  const name = idOf(path);
  return el("div", { class: "choices", role: "radiogroup", id: name, "aria-labelledby": `${name}-ask`, "aria-describedby": `${name}-note` },
    choices.map(([value, words]) => el("label", { class: "choice" },
      el("input", { type: "radio", name, value, checked: value === shown, "data-path": path.join("."), onchange: () => choose(value) }),
      picture?.(value), el("span", {}, words))));
}

function yesNoControl(field, path) {
  const shown = at(path) ?? field.preset;
  const list = el("select", { ...described(path), onchange: () => put(path, { true: true, false: false }[list.value]) },
    [filled(field.preset) ? undefined : el("option", { value: "" }, say("not-answered")),
      el("option", { value: "true" }, say("yes")), el("option", { value: "false" }, say("no"))].filter(Boolean));
  list.value = filled(shown) ? String(shown) : "";
  return list;
}

function pointsControl(field, path) {
  const value = at(path);
  const text = Array.isArray(value) ? value.map((point) => [point].flat().join(", ")).join("\n") : value ?? "";
  const area = el("textarea", { ...described(path), rows: 3, value: text, placeholder: "54.50001, 2.50001", oninput: () => {
    const lines = tame(area.value).split("\n").filter((line) => line.trim());
    put(path, lines.length ? lines.map((line) => line.split(/[,;\s]+/).filter(Boolean)) : undefined);
  } });
  const here = button(say("add-my-place"), async () => {
    const fix = await takeFix(status);
    if (!fix) return;
    area.value = `${area.value.trimEnd()}\n${fix.lat}, ${fix.lon}`.trim();
    area.dispatchEvent(new Event("input"));
  });
  const status = el("p", { class: "soft", role: "status" });
  return el("div", {}, area, here, status);
}

/** The land manager's own rules, as YAML; kept as what was read of it, else as the text itself. */
function tableControl(field, path) {
  const value = at(path);
  const text = !filled(value) ? "" : typeof value === "string" ? value : writeTree("rules:", value, -1).slice(1).join("\n");
  const area = el("textarea", { ...described(path), rows: 4, value: text, spellcheck: "false", oninput: () => {
    try {
      const node = new YamlReader(tame(area.value)).document();
      put(path, node.map ? withoutLines(node) : area.value.trim());
    } catch {
      put(path, area.value.trim());
    }
  } });
  return area;
}

// ---- parts and lists

function drawBlock(field, path) {
  const part = field.parts[0];
  const title = el("span", {}, field.ask);
  const inside = () => [noteFor(path, null), ...(BEFORE[part]?.(path) ?? []), ...drawPart(part, path), ...(AFTER[part]?.(path) ?? [])];
  if (field.quick || field.required) return el("fieldset", { class: "block", "data-path": path.join(".") }, el("legend", {}, title), inside());
  return folding(path, [title], inside, filled(at(path)));
}

/** A part that opens; it is drawn only once it is opened. */
function folding(path, summary, inside, openAtFirst = false) {
  const key = path.join(".");
  const body = el("div", { class: "body" });
  const box = el("details", { class: "fold", "data-path": key }, el("summary", {}, summary), body);
  const drawIt = () => {
    if (box.open && !body.hasChildNodes()) {
      body.append(...inside());
      refreshSoon();
    }
  };
  box.addEventListener("toggle", () => {
    drawIt();
    state.open[key] = box.open;
    keeper.view();
  });
  box.open = state.open[key] ?? openAtFirst;
  drawIt();
  return box;
}

function drawList(field, path) {
  const part = field.parts[0];
  const box = el("fieldset", { class: "block list", "data-path": path.join(".") });
  const drawItems = () => {
    const given = at(path) ?? [], items = given.length || !isOpen(field) ? given : [{}];
    box.replaceChildren(el("legend", {}, field.ask), noteFor(path, null),
      ...items.map((item, index) => el("div", { class: "item" },
        el("p", { class: "number" }, String(index + 1)), ...(BEFORE[part]?.([...path, index]) ?? []), ...drawPart(part, [...path, index]),
        removal([...path, index], drawItems))),
      button(`+ ${say("add")}`, () => {
        put([...path, items.length], {});
        drawItems();
      }, { class: "add", "aria-label": say("add-to", { ask: field.ask }) }));
    refreshSoon();
  };
  drawItems();
  // beside a first item that stands open unfilled, nothing is to be added or taken away
  return alive(box, () => box.querySelectorAll(":scope > .add, :scope > .item > .remove").forEach((one) => (one.hidden = isOpen(field) && !at(path)?.length)));
}

/** Taking an item away can be undone until the next one is. */
function removal(path, redraw) {
  return button(say("remove"), () => {
    const list = at(path.slice(0, -1)), way = wayTo(path), after = list[path.at(-1) + 1];
    const [taken] = list.splice(path.at(-1), 1);
    if (!list.length && path.length > 2) put(path.slice(0, -1), undefined); // the record's own lists stay
    changed();
    redraw();
    offerUndo(taken, () => {
      const where = pathBy(way);
      if (!where) return false; // what held it is gone
      const now = at(where), next = indexOf(now ?? [], { item: after, index: path.at(-1) });
      if (!now) put(where, [taken]);
      else now.splice(next >= 0 ? next : Math.min(path.at(-1), now.length), 0, taken);
      changed();
      drawInPlace(); // whatever is on the screen by now
      return true;
    });
  }, { class: "small remove" });
}

let undoable; // what was taken away last, as long as it may be put back

/** What was taken from one record is not put back into another. */
function withdrawUndo() {
  undoable = undefined;
  document.getElementById("undo").replaceChildren();
}

function offerUndo(taken, act) {
  const bar = document.getElementById("undo");
  undoable = taken;
  bar.replaceChildren(el("span", {}, say("removed")), button(say("undo"), () => {
    if (act()) withdrawUndo();
    else bar.firstChild.textContent = say("undo-nowhere");
  }));
}
