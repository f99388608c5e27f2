// The short form: what is typed stands together, and one tap answers what is alike, saying what it answers.
const SHORT_ORDER = { Tree: ["code", "position", "species", "trunk", "lean", "lean_toward", "ground", "height", "stems", "bark", "roots", "signs", "hard_edge_near"] };
const isShort = () => state.mode === "quick";

/** The fields of a part as they are shown: in the short form those for the keyboard first. */
function inOrder(part) {
  const order = isShort() && SHORT_ORDER[part];
  const place = ({ name }) => (order.indexOf(name) + 1 || order.length + 1);
  return order ? [...partOf(part)].sort((one, other) => place(one) - place(other)) : partOf(part);
}

/** Whether a list shows a first item to be filled in before there is one. */
const isOpen = (field) => isShort() && field.name === "trunk";

// "Next" on the keyboard goes from text to text, also where a phone would stop at a list or stay where it is
addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.isComposing || !event.target.matches?.("main input[autocomplete=off]")) return;
  event.preventDefault();
  const texts = [...document.querySelectorAll("main [autocomplete=off]")].filter((one) => one.checkVisibility());
  texts[texts.indexOf(event.target) + 1]?.focus();
});

// ---- what need not be typed: shown in its field, and of the record from the first anchor on

const PROPOSED = [["survey", "date"], ["survey", "by"]];
function proposed(path) {
  if (state.record.anchors.length || !PROPOSED.some((one) => one.join() === path.join())) return undefined;
  return path.at(-1) === "date" ? today() : state.by;
}

/** Where and with what the last tree was taped holds for the next one's girth, until somebody says otherwise. */
function asReadBefore() {
  const last = isShort() && state.record.anchors.findLast((anchor) => filled(anchor.trunk?.[0]?.read_at));
  if (!last) return {};
  const { read_at, how } = last.trunk[0];
  return { trunk: [{ read_at, ...(how ? { how } : {}) }] };
}

/** A line between the last two anchors, by what it is for; nothing where there is one. */
function lineBetween() {
  const [a, b] = state.record.anchors.slice(-2).map((anchor) => anchor.code), { lines } = state.record;
  if (!filled(a) || !filled(b) || lines.some((line) => [line.a?.anchor, line.b?.anchor].sort().join() === [a, b].sort().join())) return undefined;
  const list = el("select", { id: "line-between", onchange: () => {
    put(["lines", lines.length], { id: freeCode(lines, "L", "id"), use: list.value, a: { anchor: a }, b: { anchor: b } });
    state.screen = "lines";
    openLast("lines");
    document.getElementById(idOf(["lines", lines.length - 1, "a", "tie_height"])).focus();
  } }, el("option", { value: "" }, say("choose")), fieldOf("Line", "use").choices.map((use) => el("option", { value: use }, choiceWord(use))));
  return el("div", { class: "field" }, el("label", { class: "ask", for: list.id }, say("line-between", { a, b })), list);
}

// ---- answers by choice

/** A word of a table in the form's language, or own words. */
function wordControl(field, path) {
  const OWN = "own words", words = form.suggested[field.suggest], value = at(path);
  const own = textControl({ ...field, suggest: undefined }, path);
  const list = el("select", { ...described(path), onchange: () => {
    own.hidden = list.value !== OWN;
    own.value = "";
    put(path, own.hidden ? list.value : "");
  } }, el("option", { value: "" }, say("not-answered")), words.map(([name, word]) => el("option", { value: name }, word)), el("option", { value: OWN }, say("own-words")));
  list.value = !filled(value) || words.some(([name]) => name === value) ? value ?? "" : OWN;
  own.hidden = list.value !== OWN;
  own.id += "-own";
  own.setAttribute("aria-label", `${field.ask}${say("colon")} ${say("own-words")}`);
  return el("div", {}, list, own);
}

/** A height in figures or, in the short form, by class: an estimate in its middle, until a figure is typed. */
function heightField(field, path) {
  const control = quantityControl(field, path);
  if (!isShort()) return drawLeaf(field, path, control);
  const how = [...path.slice(0, -1), "height_how"], classes = [...path, "class"];
  const shown = at(how) === "estimated" ? at(path) : undefined;
  const list = radios(classes, form.heights, shown, (middle) => {
    control.querySelector("input").value = parseFloat(middle);
    control.querySelector("select").value = middle.split(" ")[1];
    put(path, middle);
    put(how, "estimated");
  });
  const typed = () => {
    const chosen = list.querySelector(":checked");
    if (!chosen) return;
    chosen.checked = false;
    put(how, undefined);
  };
  control.addEventListener("input", typed);
  return drawLeaf(field, path, control, [el("span", { class: "ask", id: `${idOf(classes)}-ask` }, say("height-class")), list]);
}

/** A direction, asked in the short form only once there is something that has one. */
function onlyWith(size, field, path) {
  const leaf = drawLeaf(field, path, controlOf(field, path));
  return isShort() ? alive(leaf, () => (leaf.hidden = !filled(at(path)) && !siOf(at(path.slice(0, -1)), "slope", size))) : leaf;
}

/** The phone's readings of a position, closed in the short form: they are typed by nobody who stands there. */
const fixesField = (field, path) => (isShort() ? folding(path, [field.ask], () => [drawList(field, path)]) : drawList(field, path));

/** The last of what may be wrong with a tree; in the short form with one answer for all that is still open. */
function edgeField(field, path) {
  const leaf = drawLeaf(field, path, controlOf(field, path));
  if (!isShort()) return leaf;
  const tree = path.slice(0, -1);
  const all = [...partOf("Signs").map(({ name }) => [...tree, "signs", name]), path];
  const open = () => all.filter((one) => unanswered(at(one), "not looked"));
  let given = []; // by the last tap, which can be taken back
  const none = button("", () => {
    const [value, paths] = given.length ? [undefined, given.filter((one) => at(one) === "no")] : ["no", open()];
    given = value ? paths : [];
    for (const one of paths) {
      put(one, value);
      document.getElementById(idOf(one)).querySelector(`[value="${value ?? field.preset}"]`).checked = true;
    }
  }, { class: "big none" });
  return el("div", {}, leaf, alive(none, () => {
    none.hidden = !given.length && !open().length;
    none.textContent = given.length ? say("none-taken-back", { count: given.filter((one) => at(one) === "no").length }) : say("none-of-these", { count: open().length });
  }));
}

/** What a part says, each answer with its question. */
const saysOf = (part, values) => partOf(part).filter(({ name }) => filled(values?.[name])).map((field) => {
  const value = values[field.name], [, word] = form.suggested[field.suggest]?.find(([name]) => name === value) ?? [];
  return saidOf(field.ask, word ?? choiceWord(value));
});

/** At end B, one tap for what is told of A's sling and padding. */
function sameAsA(path) {
  const PARTS = { sling: "Sling", padding: "Padding" };
  const other = () => at([...path.slice(0, -1), "a"]) ?? {};
  if (path.at(-1) !== "b") return [];
  const same = button("", () => {
    for (const name of Object.keys(PARTS)) if (filled(other()[name])) put([...path, name], structuredClone(other()[name]));
    drawInPlace();
  }, { class: "big lines" });
  return [alive(same, () => {
    const says = Object.entries(PARTS).flatMap(([name, part]) => (JSON.stringify(other()[name]) === JSON.stringify(at([...path, name])) ? [] : saysOf(part, other()[name])));
    same.hidden = !says.length;
    same.textContent = [say("same-as-a"), ...says].join("\n");
  })];
}
