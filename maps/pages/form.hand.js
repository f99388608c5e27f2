// Handing over: the record as a file, by the phone's share sheet, as text; photos in one archive; an earlier record read.
const slug = (text) => knownKeyed(text).slice(0, 40) || "record";
const knownKeyed = (text) => String(text ?? "").normalize("NFKD").replace(/\p{M}/gu, "").replace(/[^A-Za-z0-9]+/g, "-").replace(/^-|-$/g, "").toLowerCase();
const recordName = (record = state.record) => [slug(record.site.name), record.survey.date].filter(filled).join("-");

function download(blob, name) {
  const link = el("a", { href: URL.createObjectURL(blob), download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60e3);
}

/** What has left the page may have got lost on its way, and no page can see that: it counts once the person has seen it. */
function handedOut(status, words) {
  status.replaceChildren(words, button(say("it-arrived"), () => {
    state.handed = true;
    keeper.view();
    status.textContent = say("arrival-noted");
  }, { class: "big", id: "it-arrived" }));
}

function saveRecord(status, record = state.record) {
  const name = `${recordName(record)}.yaml`;
  download(new Blob([writeRecord(record)], { type: "text/yaml" }), name);
  if (record === state.record) handedOut(status, say("handed-file", { name }));
  else status.textContent = say("handed-file", { name });
}

async function share(status) {
  const text = writeRecord(state.record);
  // not every share sheet takes .yaml; the program reads the record whatever its last name
  const files = [["text/yaml", ".yaml"], ["text/plain", ".txt"]].map(([type, ending]) => new File([text], recordName() + ending, { type }));
  const file = files.find((one) => navigator.canShare?.({ files: [one] }));
  try {
    await navigator.share(file ? { files: [file], title: recordName() } : { text, title: recordName() });
    handedOut(status, say("shared-it"));
  } catch (error) {
    if (error.name !== "AbortError") status.textContent = say("share-failed");
  }
}

async function copyText(status, area) {
  area.value = writeRecord(state.record);
  area.closest("details").open = true;
  area.select();
  try {
    await navigator.clipboard.writeText(area.value);
    handedOut(status, say("copied"));
  } catch {
    if (document.execCommand("copy")) handedOut(status, say("copied"));
    else status.textContent = say("copy-by-hand");
  }
}

// ---- an archive of record and photos, stored and not pressed: photos are pressed already

const CRC_TABLE = Array.from({ length: 256 }, (_, byte) => {
  let sum = byte;
  for (let bit = 0; bit < 8; bit += 1) sum = sum & 1 ? 0xedb88320 ^ (sum >>> 1) : sum >>> 1;
  return sum >>> 0;
});

function crc32(bytes) {
  let sum = 0xffffffff;
  for (const byte of bytes) sum = CRC_TABLE[(sum ^ byte) & 0xff] ^ (sum >>> 8);
  return (sum ^ 0xffffffff) >>> 0;
}

/** The archive format every phone opens (APPNOTE 6.3, method 0), as a blob. */
function archive(files) {
  const parts = [], directory = [];
  let offset = 0;
  for (const { name, bytes } of files) {
    const path = new TextEncoder().encode(name);
    const common = [[2, 20], [2, 0x0800], [2, 0], [2, 0], [2, 0x21], [4, crc32(bytes)], [4, bytes.length], [4, bytes.length], [2, path.length], [2, 0]];
    const local = packed([[4, 0x04034b50], ...common]);
    directory.push(packed([[4, 0x02014b50], [2, 20], ...common, [2, 0], [2, 0], [2, 0], [4, 0], [4, offset]]), path);
    parts.push(local, path, bytes);
    offset += local.length + path.length + bytes.length;
  }
  const size = directory.reduce((sum, part) => sum + part.length, 0);
  const end = packed([[4, 0x06054b50], [2, 0], [2, 0], [2, files.length], [2, files.length], [4, size], [4, offset], [2, 0]]);
  return new Blob([...parts, ...directory, end], { type: "application/zip" });
}

function packed(numbers) {
  return new Uint8Array(numbers.flatMap(([width, value]) => Array.from({ length: width }, (_, index) => (value >>> (8 * index)) & 0xff)));
}

async function downloadAll(status) {
  const files = [{ name: "record.yaml", bytes: new TextEncoder().encode(writeRecord(state.record)) }];
  const missing = [];
  for (const { path } of allPhotos(state.record)) {
    const blob = await keeper.photo(path).catch(() => undefined);
    const fits = !faultOf(fieldOf("Photo", "path"), path);
    const bytes = fits && (await blob?.arrayBuffer().catch(() => undefined));
    if (bytes) files.push({ name: path, bytes: new Uint8Array(bytes) });
    else missing.push(path);
  }
  const name = `${recordName()}.zip`;
  download(archive(files), name);
  const lacks = missing.length ? ` ${say("photos-missing", { names: missing.join(", ") })}` : "";
  handedOut(status, say("handed-file", { name }) + lacks);
}

// ---- an earlier record

async function readEarlier(file, status) {
  status.textContent = "";
  try {
    if (file.size > 5e6) throw new Error(say("too-large"));
    const record = readRecord(await file.text());
    if (!(await mayLeave("replace"))) return;
    begin({ record, mode: "full" });
    document.getElementById("handed").textContent = say("read-it", { anchors: record.anchors.length, lines: record.lines.length });
  } catch (error) {
    status.textContent = error.message;
  }
}

const hasAnything = (record = state.record) => JSON.stringify(record) !== JSON.stringify(emptyRecord());

/** A work of its own, beside what is kept already. */
function begin(more) {
  keeper.switchTo();
  withdrawUndo();
  state = { ...state, by: state.record.survey.by ?? state.by, open: {}, handed: true, ...more };
  keeper.change();
  drawPage(); // at once: a key typed into what was shown before would go into the new record
}

async function startAgain() {
  const stays = await keeper.mayLeave();
  if (hasAnything() && !confirm(say(stays ? "start-again-sure" : "start-again-lose"))) return;
  begin({ record: emptyRecord(), screen: "site" });
}

// ---- the screen

function handScreen() {
  const status = el("p", { class: "status", role: "status", id: "handed" });
  const area = el("textarea", { rows: 12, readonly: true, id: "as-text", "aria-label": say("as-text") });
  const chooser = el("input", { type: "file", accept: ".yaml,.yml,.txt,text/*,application/yaml", class: "hidden", tabindex: "-1", id: "earlier", "aria-label": say("open-earlier"), onchange: async () => {
    if (chooser.files[0]) await readEarlier(chooser.files[0], status);
    chooser.value = "";
  } });
  const beside = el("div", { id: "kept-beside" });
  showBeside(beside);
  return [
    alive(el("div", { id: "left-open" }), showLeftOpen),
    el("h3", {}, say("hand-over")), el("p", {}, say("hand-over-hint")),
    el("div", { class: "stack" },
      globalThis.handIn ? button(handIn.label, () => handedOut(status, handIn(recordName(), writeRecord(state.record))), { class: "big", id: "hand-in" }) : undefined,
      navigator.share ? button(say("share"), () => share(status), { class: "big" }) : undefined,
      button(say("save-file"), () => saveRecord(status), { class: "big", id: "save-file" }),
      button(say("save-all"), () => downloadAll(status), { class: "big", id: "save-all" }),
      button(say("copy-text"), () => copyText(status, area), { class: "big", id: "copy-text" })),
    status,
    el("details", { class: "fold" }, el("summary", {}, say("as-text")), area),
    el("h3", {}, say("carry-on")),
    el("div", { class: "stack" }, button(say("open-earlier"), () => chooser.click(), { class: "big" }), chooser,
      button(say("print-blank"), () => print(), { class: "big" }),
      button(say("start-again"), startAgain, { class: "big", id: "start-again" })),
    beside,
    el("h3", {}, say("remember")), el("ul", {}, form.cautions.map((text) => el("li", {}, text))),
  ];
}

/** What the program would refuse, what looks like a slip, and what is still missing, each with a way there. */
function showLeftOpen(box) {
  const refusedNow = [...faultsOfPart("Record", state.record, []), ...disagreements(state.record)];
  const odd = [...doubts(state.record)];
  const list = (title, found) => (found.length ? [el("h3", {}, title), el("ul", { class: "found" }, found.map((one) =>
    el("li", {}, button(nameOf(one.path), () => goTo(one.path), { class: "way" }), " ", sentenceOf(one))))] : []);
  const used = new Set(state.record.lines.flatMap((line) => [line.a?.anchor, line.b?.anchor]));
  const unused = state.record.anchors.filter((anchor) => !used.has(anchor.code));
  const counted = [...state.record.lines.map(lineSays), ...unused.map((anchor) => saidOf(anchor.code, missingSays(decidingOf(anchor))))];
  box.replaceChildren(...list(say("refused-now"), refusedNow), ...list(say("look-again-at"), odd),
    el("h3", {}, say("needs-more")), el("p", { class: "soft" }, say("no-verdict")),
    counted.length ? el("ul", {}, counted.map((text) => el("li", {}, text))) : el("p", {}, say("no-anchors")));
}

/** Every answer that is missing where it is needed, or wrong by itself. */
function* faultsOfPart(part, values, path) {
  for (const field of partOf(part)) {
    if (field.name === "siteassess_record") continue;
    const value = values?.[field.name], where = [...path, field.name];
    if (!filled(value) && !field.required) continue;
    if (!filled(value) && field.kind !== "part") yield refusal(where, say("is-needed", { ask: field.ask }));
    else if (field.kind === "part") yield* faultsOfPart(field.parts[0], value ?? {}, where);
    else if (field.kind === "parts") for (const [index, item] of value.entries()) yield* faultsOfPart(partNameOf(field, item), item, [...where, index]);
    else if (faultOf(field, value)) yield refusal(where, faultOf(field, value));
  }
}

/** Where a field stands, in the words it is asked with. */
function nameOf(path) {
  let part = "Record", field;
  return path.map((step, index) => {
    const item = at(path.slice(0, index + 1)) ?? {};
    if (typeof step !== "number") field = fieldOf(part, step);
    if (field?.parts && (typeof step === "number" || field.kind === "part")) part = partNameOf(field, item);
    return typeof step === "number" ? item.code ?? item.id ?? step + 1 : field?.ask ?? step;
  }).join(" › ");
}

/** Opens what holds a field, and puts the finger there. */
function goTo(path) {
  state.screen = { site: "site", survey: "site", anchors: "anchors", lines: "lines", note: "site" }[path[0]] ?? "lines";
  if (path.length > 2) state.open[path.slice(0, 2).join(".")] = true;
  for (let length = 2; length < path.length; length += 1) state.open[path.slice(0, length).join(".")] = true;
  drawPage();
  if (!document.querySelector(`[data-path="${CSS.escape(path.join("."))}"]`) && state.mode === "quick") {
    state.mode = "full";
    drawPage();
  }
  const found = document.getElementById(idOf(path)) ?? document.querySelector(`[data-path="${CSS.escape(path.join("."))}"]`);
  found?.scrollIntoView({ block: "center" });
  found?.focus?.();
}
