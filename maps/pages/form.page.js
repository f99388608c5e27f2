// The page: four screens, a way between them, and the start.
const SCREENS = ["site", "anchors", "lines", "hand"];

function drawPage() {
  live = [];
  document.body.dataset.mode = state.mode;
  const main = document.getElementById("screen");
  const title = { site: say("screen-site"), anchors: say("screen-anchors"), lines: say("screen-lines"), hand: say("screen-hand") }[state.screen];
  const drawn = { site: siteScreen, anchors: anchorsScreen, lines: linesScreen, hand: handScreen }[state.screen]();
  main.replaceChildren(el("h2", { tabindex: "-1", id: "screen-title" }, title), ...drawn);
  document.querySelectorAll("nav button").forEach((one) => {
    if (one.dataset.screen === state.screen) one.setAttribute("aria-current", "page");
    else one.removeAttribute("aria-current");
  });
  document.querySelectorAll("input[name=mode]").forEach((one) => (one.checked = one.value === state.mode));
  refresh();
}

/** Draws what another page added; the finger stays where it was. */
function drawInPlace() {
  const { id, selectionEnd } = document.activeElement, { scrollY } = globalThis;
  drawPage();
  const again = document.getElementById(id); // what has the finger may have no name
  again?.focus({ preventScroll: true });
  if (Number.isInteger(selectionEnd)) again?.setSelectionRange?.(again.value.length, again.value.length);
  scrollTo(0, scrollY);
}

function goToScreen(screen) {
  state.screen = screen;
  keeper.view();
  if (hasAnything()) keeper.askToPersist();
  drawPage();
  scrollTo(0, 0);
  document.getElementById("screen-title").focus({ preventScroll: true });
}

function siteScreen() {
  const block = (name) => {
    const field = fieldOf("Record", name);
    return el("fieldset", { class: "block", "data-path": name }, el("legend", {}, field.ask), drawPart(field.parts[0], [name]));
  };
  const note = fieldOf("Record", "note");
  const on = state.mode === "quick" && !state.record.anchors.length && button(`+ ${say("tree-here")}`, () => addAnchor("tree", true), { class: "big" });
  return [isAsked(note) ? drawLeaf(note, ["note"], textControl(note, ["note"])) : "", block("site"), block("survey"), on].filter(Boolean);
}

/** The first free code: T1, T2 and so on. */
function freeCode(items, letter, key = "code") {
  const taken = new Set([...items, undoable ?? {}].map((item) => item[key])); // its code stays free for what may be put back
  for (let number = 1; ; number += 1) if (!taken.has(letter + number)) return letter + number;
}

const KIND_LETTER = { tree: "T", boulder: "B" };

/** Adds an anchor; where the person stands at it its position is taken at once, and the kind of tree may be typed. */
function addAnchor(kind, here) {
  const { anchors } = state.record, last = anchors.length;
  for (const path of PROPOSED) if (!filled(at(path))) put(path, proposed(path));
  put(["anchors", last], { kind, code: freeCode(anchors, KIND_LETTER[kind] ?? "P"), ...(kind === "tree" ? asReadBefore() : {}) });
  state.screen = "anchors";
  openLast("anchors");
  if (!here) return;
  document.querySelector(`details[data-path="anchors.${last}"] .take`).click();
  document.getElementById(idOf(["anchors", last, "species", "name"])).focus();
}

function anchorsScreen() {
  const anchors = state.record.anchors;
  const add = (kind) => button(`+ ${say(`add-${kind}`)}`, () => addAnchor(kind), { class: "big", "data-add": kind });
  return [
    ...(anchors.length ? [] : [el("p", {}, say("no-anchors"))]),
    ...anchors.map((anchor, index) => itemBox(["anchors", index], form.kinds[anchor.kind] ?? "Tree", anchorTitle)),
    el("div", { class: "stack" }, ...(state.mode === "quick" ? [lineBetween(), button(`+ ${say("tree-here")}`, () => addAnchor("tree", true), { class: "big", "data-add": "tree-here" })] : []),
      Object.keys(form.kinds).map(add)),
  ];
}

function linesScreen() {
  const lines = state.record.lines;
  return [
    ...(lines.length ? [] : [el("p", {}, say("no-lines"))]),
    ...lines.map((line, index) => itemBox(["lines", index], "Line", lineTitle)),
    button(`+ ${say("add-line")}`, () => {
      const [a, b] = state.record.anchors.map((anchor) => anchor.code).filter(filled);
      put(["lines", lines.length], { id: freeCode(lines, "L", "id"), ...(a ? { a: { anchor: a } } : {}), ...(b ? { b: { anchor: b } } : {}) });
      openLast("lines");
    }, { class: "big", "data-add": "line" }),
    ...furtherLists(),
  ];
}

/** Lists that stand beside anchors and lines in the record. */
const furtherLists = () => partOf("Record").filter((field) => field.kind === "parts" && !["anchors", "lines"].includes(field.name) && isAsked(field))
  .map((field) => drawField("Record", field, [field.name]));

function openLast(name) {
  const index = state.record[name].length - 1;
  Object.keys(state.open).filter((key) => key.startsWith(`${name}.`)).forEach((key) => delete state.open[key]);
  state.open[`${name}.${index}`] = true;
  drawPage();
  document.querySelector(`details[data-path="${name}.${index}"]`).scrollIntoView();
}

/** One anchor or line, closed until it is wanted. */
function itemBox(path, part, title) {
  const head = alive(el("span", { class: "title" }), (line) => {
    const said = title(at(path) ?? {});
    if (line.textContent !== said.join("")) line.replaceChildren(...said.map((text, index) => el(index ? "span" : "strong", {}, text)));
  });
  const inside = () => [
    alive(el("p", { class: "missing", role: "status", "data-missing": path.join(".") }), (node) => {
      const item = at(path);
      if (item) node.textContent = part === "Line" ? lineSays(item) : missingSays(decidingOf(item));
    }),
    firstBox(path, part),
    noteFor(path, null), ...drawPart(part, path), removal(path, drawPage),
  ];
  return folding(path, [head], inside);
}

/** Where the first word stands; how tall it is the page has to know. */
function firstBox(path, part) {
  const box = el("div", { class: "first", "data-first": path.join(".") });
  boxes.observe(box);
  return alive(box, (node) => showFirst(node, at(path), part));
}

function anchorTitle(anchor) {
  const kind = choiceWord(anchor.kind);
  const what = anchor.species?.name ?? anchor.name ?? anchor.what ?? "";
  const { missing } = decidingOf(anchor);
  return [anchor.code ?? "?", ` ${[kind, what].filter(Boolean).join(", ")}`, missing.length ? ` · ${say("count-missing", { count: missing.length })}` : ""];
}

function lineTitle(line) {
  return [line.id ?? "?", ` ${line.use ? choiceWord(line.use) : ""} ${line.a?.anchor ?? "?"} – ${line.b?.anchor ?? "?"}`];
}

const thingWords = (thing) => form.deciding.says[form.deciding.things.indexOf(thing)];

function missingSays({ count, missing }) {
  if (!count) return say("cannot-judge-other");
  if (!missing.length) return say("all-given", { count });
  const signs = missing.filter((thing) => thing.startsWith("stop sign: "));
  // many signs are told by their number: each has its own line further down
  const named = missing.filter((thing) => signs.length < 3 || !signs.includes(thing)).map(thingWords);
  const names = [...named, ...(signs.length < 3 ? [] : [say("signs-missing", { count: signs.length })])].join(say("between"));
  return say("still-missing", { missing: missing.length, count, names });
}

/** What is missing for a line: of the line itself once, of each anchor by its code. */
function lineSays(line) {
  if (!filled(line.use)) return saidOf(line.id, say("say-use"));
  const ends = ["a", "b"].map((end) => [end, state.record.anchors.find((anchor) => anchor.code === line[end]?.anchor)]);
  if (ends.some(([, anchor]) => !anchor)) return saidOf(line.id, say("say-anchors"));
  return ends.map(([end, anchor]) => saidOf(`${line.id ?? "?"}, ${anchor.code}`, missingSays(decidingOf(anchor, line, end)))).join(" ");
}

async function start() {
  state = { ...state, ...(await keeper.open()) };
  document.querySelectorAll("nav button").forEach((one) => one.addEventListener("click", () => goToScreen(one.dataset.screen)));
  document.querySelectorAll("input[name=mode]").forEach((one) => one.addEventListener("change", () => {
    state.mode = one.value;
    keeper.view();
    drawPage();
  }));
  document.getElementById("app").hidden = false;
  document.getElementById("start").hidden = true;
  drawPage();
  reopened = hasAnything();
  showKeeping();
  document.body.dataset.ready = "yes";
}

// for the tests, which hold the form against the program
globalThis.siteassessForm = {
  writeRecord, readRecord, readQuantity, course, decidingOf, archive, faultOf, meanFix, sentenceOf, worded, nameOf, inWords, firstWord,
  check: (record) => ({ doubts: [...doubts(record)], refused: [...faultsOfPart("Record", record, []), ...disagreements(record)] }),
  checkField: (part, name, text) => faultOf(fieldOf(part, name), text),
  record: () => state.record, refresh,
  keeping: () => ({ where: keeper.where(), count: keeper.count, kept: keeper.kept, id: keeper.id, behind: keeper.behind, apart: keeper.apart, gone: keeper.gone, twins: keeper.twins, writes: Boolean(keeper.writing) }),
  tryAgain: () => keeper.flush(),
  beside: async () => (await keeper.others()).map((work) => work.state.record),
};
start();
