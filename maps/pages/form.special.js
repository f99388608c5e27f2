// The few answers that deserve more than a line: species, bark, roots, anchors by code, stop signs, photos.
const SPECIAL = {
  "Species.name": speciesField,
  "Bark.form": barkField,
  "Tree.roots": rootsField,
  photos: photosField, // of whatever has some
  "Record.note": () => "",
  "Tree.signs": signsField,
  "Tree.height": heightField,
  "Tree.lean_toward": (field, path) => onlyWith("lean", field, path),
  "Ground.downhill": (field, path) => onlyWith("slope", field, path),
  "Position.fixes": fixesField,
  "Tree.hard_edge_near": edgeField,
  "End.anchor": codeField,
  "Tie.landmark": codeField,
  "MeasuredPair.a": codeField,
  "MeasuredPair.b": codeField,
};
const BEFORE = { Position: positionTaking };
const AFTER = { Span: (path) => [pairPanel(path.slice(0, -1))], End: sameAsA };

function speciesField(field, path) {
  const control = textControl({ ...field, suggest: undefined }, path);
  // whole names first, then beginnings, then parts; of each those in the form's own language before what a visitor brings
  const find = (typed) => {
    const wanted = knownKey(typed);
    if (wanted.length < 2) return form.species.slice(0, 2).map(({ name, common }) => [name, common[0]]);
    const is = (name) => knownKey(name) === wanted, starts = (name) => knownKey(name).startsWith(wanted), holds = (name) => knownKey(name).includes(wanted);
    const found = new Map();
    for (const fits of [is, starts, holds]) {
      for (const own of [true, false]) {
        for (const { name, common, others } of form.species) {
          const by = (own ? [name, ...common] : others).find(fits);
          if (by && name !== typed && !found.has(name)) found.set(name, own ? common[0] : [common[0], by].filter(Boolean).join(" · "));
        }
      }
    }
    return [...found];
  };
  return drawLeaf(field, path, control, suggestionsFor(control, path, find));
}

function barkField(field, path) {
  const picture = (value) => svg("svg", { viewBox: "0 0 48 48", class: "bark", "aria-hidden": "true" }, svg("use", { href: `#bark-${value.replaceAll(" ", "-")}` }));
  const control = radios(path, field.choices.map((choice) => [choice, choiceWord(choice)]), at(path) ?? field.preset, (choice) => put(path, choice), picture);
  control.classList.add("pictured");
  return drawLeaf(field, path, control);
}

/** An anchor or landmark by its code, from those of the record. */
function codeField(field, path) {
  const places = [...(field.name === "anchor" ? [] : state.record.site.landmarks ?? []), ...state.record.anchors];
  const codes = [...new Set([...places.map((place) => place.code), at(path)].filter(filled))];
  return drawLeaf(field, path, choiceList(field, path, codes, at(path)));
}

function signsField(field, path) {
  const rows = partOf("Signs").map((sign) => {
    const own = [...path, sign.name];
    return drawLeaf(sign, own, choiceControl(sign, own, sign.choices), el("p", { class: "soft" }, say("look", { where: form.signs[sign.name] })));
  });
  return el("fieldset", { class: "block signs", "data-path": path.join(".") }, el("legend", {}, field.ask), el("p", {}, say("signs-hint")), rows);
}

// ---- roots by eight sectors: tap a sector, then its state; or choose both from the lists below the picture

const ROOT_MARKS = { "covered": "", "tips": "·", "ridges up to 5 cm": "–", "ridges over 5 cm": "=", "undercut": "U", "cut": "X", "hard surface": "#", "not looked": "?" };

function rootsField(field, path) {
  const ALL = ""; // all eight sectors at once
  const fields = partOf("Roots");
  const states = fields.find((one) => one.name === form.sectors[0]).choices;
  const stateOf = (sector) => at([...path, sector]) ?? "not looked";
  const shared = () => form.sectors.every((sector) => stateOf(sector) === stateOf("N")) && stateOf("N");
  const stateShown = () => (chosen === ALL ? shared() : stateOf(chosen));
  let chosen = shared() ? ALL : form.sectors[0];
  const picture = svg("svg", { viewBox: "-110 -110 220 220", class: "rose", "aria-hidden": "true" });
  const cut = (index) => {
    const angle = (degrees) => [Math.sin((degrees * Math.PI) / 180), -Math.cos((degrees * Math.PI) / 180)];
    const [from, to] = [angle(index * 45 - 22.5), angle(index * 45 + 22.5)];
    const point = ([x, y], radius) => `${(x * radius).toFixed(1)} ${(y * radius).toFixed(1)}`;
    return `M${point(from, 34)} L${point(from, 104)} A104 104 0 0 1 ${point(to, 104)} L${point(to, 34)} A34 34 0 0 0 ${point(from, 34)} Z`;
  };
  const sectors = form.sectors.map((sector, index) => {
    const [x, y] = [Math.sin((index * Math.PI) / 4), -Math.cos((index * Math.PI) / 4)];
    const shape = svg("path", { d: cut(index) });
    const name = svg("text", { x: (x * 84).toFixed(1), y: (y * 84 + 5).toFixed(1) }, choiceWord(sector));
    const mark = svg("text", { x: (x * 56).toFixed(1), y: (y * 56 + 6).toFixed(1), class: "mark" });
    const group = svg("g", { class: "sector", "data-sector": sector }, shape, name, mark);
    group.addEventListener("click", () => choose(sector));
    picture.append(group);
    return { sector, group, mark };
  });
  picture.append(svg("circle", { r: 30, class: "trunk" }));
  const choose = (sector) => {
    chosen = sector;
    showIt();
  };
  const set = (value) => {
    for (const sector of chosen === ALL ? form.sectors : [chosen]) put([...path, sector], value);
    showIt();
  };
  const sectorPath = [...path, "sector"], statePath = [...path, "state"];
  const sectorList = radios(sectorPath, [[ALL, say("same-all-round")], ...form.sectors.map((sector) => [sector, choiceWord(sector)])], chosen, choose);
  const stateList = radios(statePath, states.map((one) => [one, `${ROOT_MARKS[one]} ${choiceWord(one)}`]), stateShown(), set);
  sectorList.classList.add("eight");
  const told = el("p", { class: "soft", role: "status" });
  const showIt = () => {
    for (const { sector, group, mark } of sectors) {
      mark.textContent = ROOT_MARKS[stateOf(sector)];
      group.setAttribute("class", `sector ${stateOf(sector) === "not looked" ? "open" : "seen"} ${[ALL, sector].includes(chosen) ? "chosen" : ""}`);
    }
    sectorList.querySelectorAll("input").forEach((input) => (input.checked = input.value === chosen));
    stateList.querySelectorAll("input").forEach((input) => (input.checked = input.value === stateShown()));
    told.textContent = shared() ? saidOf(say("same-all-round"), choiceWord(shared())) : form.sectors.map((sector) => saidOf(choiceWord(sector), choiceWord(stateOf(sector)))).join(", ");
  };
  const flare = fields.filter((one) => !form.sectors.includes(one.name) && isAsked(one)).map((one) => drawField("Roots", one, [...path, one.name]));
  const box = el("fieldset", { class: "block", "data-path": path.join(".") }, el("legend", {}, field.ask), noteFor(path, null),
    el("p", {}, say("roots-hint")), picture,
    el("span", { class: "ask", id: `${idOf(sectorPath)}-ask` }, say("sector")), sectorList,
    el("span", { class: "ask", id: `${idOf(statePath)}-ask` }, say("state-there")), stateList, told, flare);
  showIt();
  return box;
}

// ---- photos: drawn anew through a canvas, so that nothing of where and when they were taken stays in the file

const LONGEST_SIDE = 2000, JPEG_QUALITY = 0.85;

async function withoutPositionData(file) {
  const image = await createImageBitmap(file);
  const scale = Math.min(1, LONGEST_SIDE / Math.max(image.width, image.height));
  const canvas = el("canvas", { width: Math.max(1, Math.round(image.width * scale)), height: Math.max(1, Math.round(image.height * scale)) });
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  image.close();
  return new Promise((done, fail) => canvas.toBlob((blob) => (blob ? done(blob) : fail(new Error("no picture"))), "image/jpeg", JPEG_QUALITY));
}

function photosField(field, path) {
  const box = el("fieldset", { class: "block list", "data-path": path.join(".") });
  const status = el("p", { class: "note", role: "status" });
  const picker = (words, capture) => {
    const input = el("input", { type: "file", accept: "image/*", capture, class: "hidden", tabindex: "-1", "aria-label": words, onchange: async () => {
      const place = staying(path);
      for (const file of input.files) await addPhoto(file, place);
      input.value = "";
    } });
    return [button(words, () => input.click(), { class: "add" }), input];
  };
  const addPhoto = async (file, place) => {
    status.textContent = "";
    try {
      const blob = await withoutPositionData(file);
      if (!place()) return alert(say("taken-for-nothing"));
      const stem = `photos/${String(at(place().slice(0, -1)).code ?? "anchor").replace(/[^A-Za-z0-9_-]/g, "_")}`;
      const { path: name } = await keeper.keepPhoto(stem, allPhotos(state.record).map((photo) => photo.path), blob);
      const where = place();
      if (!where) return alert(say("taken-for-nothing"));
      put([...where, (at(where) ?? []).length], { path: name });
      if (box.isConnected) drawItems();
      else drawInPlace();
    } catch {
      status.textContent = say("photo-unreadable");
    }
  };
  const drawItems = () => {
    const photos = at(path) ?? [];
    box.replaceChildren(el("legend", {}, field.ask), el("p", { class: "soft" }, say("photos-hint")), noteFor(path, null),
      ...photos.map((photo, index) => el("div", { class: "item" }, thumbnail(photo.path),
        ...drawPart("Photo", [...path, index]), removal([...path, index], drawItems))),
      ...picker(say("take-photo"), "environment"), ...picker(say("choose-photo")),
      button(`+ ${say("name-photo")}`, () => {
        put([...path, photos.length], {});
        drawItems();
      }, { class: "add" }), status);
    // the names of photos are asked in the short form too, once there are any
    photos.forEach((_, index) => {
      const item = box.querySelectorAll(".item")[index];
      if (!item.querySelector("input")) item.insertBefore(el("div", {}, partOf("Photo").map((one) => drawField("Photo", one, [...path, index, one.name]))), item.lastChild);
    });
    refreshSoon();
  };
  drawItems();
  return box;
}

const photosIn = (works) => new Set(works.flatMap((work) => allPhotos(work.state.record)).map(({ path }) => path));
const allPhotos = (record) => (record.anchors ?? []).flatMap((anchor) => anchor.photos ?? []).filter((photo) => filled(photo.path));

function thumbnail(path) {
  const frame = el("div", { class: "thumb" });
  if (filled(path)) {
    keeper.photo(path).then((blob) => {
      if (!blob) return;
      const image = el("img", { alt: path, src: URL.createObjectURL(blob) });
      image.addEventListener("load", () => URL.revokeObjectURL(image.src));
      frame.replaceChildren(image);
    }).catch(() => {});
  }
  return frame;
}
