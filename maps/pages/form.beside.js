// Says what is kept and what is not, what other pages of this form do, and shows the records kept beside this one.

/** What the page says about keeping; a warning stays in sight while it holds. */
function showKeeping() {
  const where = keeper.where(), tries = Boolean(keeper.base);
  const kept = document.getElementById("kept");
  const lies = keeper.gone ? "removed-elsewhere" : where === "base" && keeper.pending ? "being-written" : { base: reopened ? "reopened" : "kept-here", local: tries ? "held-small" : reopened ? "reopened" : "kept-local", none: tries ? "page-alone" : "not-kept" }[where];
  const warns = where === "none" || (where === "local" && tries);
  const promise = warns || lies === "being-written" ? "" : say(keeper.persisted ? "promised" : "not-promised");
  const said = [say(lies), promise].filter(Boolean).join(" ");
  if (kept.textContent !== said) kept.textContent = said;
  kept.classList.toggle("warns", warns);
  kept.dataset.keeps = where;
  showWarnings([
    keeper.gone && ["", button(say("keep-again"), () => keeper.change())],
    warns && ["", button(say("save-file"), saveFile)],
    memoryPhotos.size && [say("photo-not-kept"), button(say("save-all"), () => goToHand(downloadAll))],
    keeper.apart && [say("typed-apart"), button(say("see-both"), seeBoth)],
    keeper.behind && [say("changed-elsewhere"), button(say("show-newest"), () => keeper.look(true))],
    keeper.twins && !keeper.behind && !keeper.apart && [say("open-twice")],
  ].filter(Boolean));
  document.getElementById("keeping").classList.toggle("stays", warns || keeper.apart || keeper.behind);
}

/** Drawn again only where something altered, so that nothing is read out twice or moves from under the finger. */
function showWarnings(found) {
  const box = document.getElementById("warnings");
  const said = JSON.stringify(found.map(([text, act]) => [text, act?.textContent]));
  if (box.dataset.said === said) return;
  box.dataset.said = said;
  box.replaceChildren(...found.map(([text, act]) => el("div", { class: text ? "warns" : "" }, text && el("p", {}, text), act)));
}

function goToHand(act) {
  goToScreen("hand");
  act(document.getElementById("handed"));
}

/** Said once: from here on the list says it. */
function seeBoth() {
  keeper.apart = false;
  showKeeping();
  goToHand(() => document.getElementById("kept-beside").scrollIntoView());
}

const saveFile = () => goToHand(saveRecord);

// ---- records kept beside this one

const titleOf = ({ record }) => filled(record.site.name) ? record.site.name : say("no-name");
const whenOf = (work) => (work.at ? say("last-change", { when: new Date(work.at).toLocaleString(document.documentElement.lang) }) : "");

async function showBeside(box) {
  const others = await keeper.others();
  others.sort((one, other) => (one.at < other.at ? 1 : -1));
  box.replaceChildren(...(others.length ? [el("h3", {}, say("kept-beside")), el("p", { class: "soft" }, say("beside-hint"))] : []), ...others.map((work) => {
    const found = el("div", { role: "status" });
    const { record } = work.state;
    return el("div", { class: "item", "data-work": work.id },
      el("p", {}, el("strong", {}, titleOf(work.state)), ` · ${record.anchors.length} ${say("screen-anchors")}, ${record.lines.length} ${say("screen-lines")}. ${whenOf(work)}`),
      el("div", { class: "stack" },
        button(say("open-it"), () => openWork(work)),
        button(say("compare"), () => found.replaceChildren(showDifferences(state.record, record))),
        button(say("save-file"), () => saveRecord(document.getElementById("handed"), record)),
        button(say("remove"), () => removeWork(work, box, found))),
      found);
  }));
}

async function openWork(work) {
  if (!(await mayLeave("replace"))) return;
  keeper.switchTo(work.id, work.seen);
  withdrawUndo();
  state = { ...state, ...work.state, screen: "site" };
  drawPage();
  showKeeping();
}

async function removeWork(work, box, found) {
  if (!confirm(say("remove-sure", { name: titleOf(work.state) }))) return;
  const against = await keeper.remove(work).catch(() => "remove-failed");
  if (against) found.textContent = say(against);
  else await showBeside(box);
}

/** Whether this page may show something else: what is here stays kept, or the person gives it up. */
async function mayLeave(asks) {
  return (await keeper.mayLeave()) || !hasAnything() || confirm(say(asks));
}

/** Every answer by the way to it. */
function* answersOf(value, way = []) {
  if (value === null || typeof value !== "object") yield [way.join(" › "), String(value)];
  else for (const [key, inner] of Object.entries(value)) yield* answersOf(inner, [...way, Array.isArray(value) ? inner?.code ?? inner?.id ?? Number(key) + 1 : key.replaceAll("_", " ")]);
}

function showDifferences(record, other) {
  const here = new Map(answersOf(record)), there = new Map(answersOf(other));
  const ways = [...new Set([...here.keys(), ...there.keys()])].filter((way) => here.get(way) !== there.get(way));
  if (!ways.length) return el("p", {}, say("same-both"));
  const said = (text) => text ?? say("not-answered");
  return el("ul", {}, ways.map((way) => el("li", {}, say("differs", { way, here: said(here.get(way)), there: said(there.get(way)) }))));
}
