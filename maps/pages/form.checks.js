// The program's check of readings, on the phone: values that may be right but look like a slip. Never a block.

/** Every doubtful reading: {path, says, likelier, wouldBe}. */
function* doubts(record) {
  yield* ageDoubts(record);
  yield* sharedDoubts(record);
  const slips = [...sizeDoubts(record)];
  yield* slips;
  for (const [index, anchor] of (record.anchors ?? []).entries()) {
    const path = ["anchors", index];
    yield* positionDoubts(anchor, path);
    if (anchor.kind !== "tree") continue;
    if (!slips.some((slip) => slip.path[1] === index && slip.path[2] === "trunk")) yield* trunkDoubts(anchor, path);
    yield* treeDoubts(anchor, path);
  }
  for (const [index, line] of (record.lines ?? []).entries()) yield* lineDoubts(record, line, ["lines", index]);
}

/** What the program refuses although each answer by itself is right: {path, says}. */
function* disagreements(record) {
  const day = record.survey?.date;
  if (filled(day) && isDay(day)) {
    if (day > latestDayOnEarth()) yield doubt(["survey", "date"], say("future-day"));
    if (day < LIMIT.EARLIEST_SURVEY) yield doubt(["survey", "date"], say("check-year"));
  }
  const places = [...codesOf(record.site?.landmarks, ["site", "landmarks"]), ...codesOf(record.anchors, ["anchors"])];
  yield* usedTwice(places, "code");
  yield* usedTwice(codesOf(record.lines, ["lines"], "id"), "id");
  const known = new Set((record.anchors ?? []).map((anchor) => anchor.code));
  for (const [index, line] of (record.lines ?? []).entries()) {
    const path = ["lines", index];
    for (const end of ["a", "b"]) {
      const code = line[end]?.anchor;
      if (filled(code) && !known.has(code)) yield doubt([...path, end, "anchor"], say("no-such-anchor", { code }));
    }
    if (filled(line.a?.anchor) && line.a.anchor === line.b?.anchor) yield doubt([...path, "b", "anchor"], say("same-anchor"));
    const { date, until } = line.planned ?? {};
    if (filled(date) && filled(until) && isDay(date) && isDay(until) && until < date) yield doubt([...path, "planned", "until"], say("days-swapped"));
    const standing = line.standing ?? {};
    if (filled(standing.tension) && filled(standing.sag)) yield doubt([...path, "standing"], say("tension-and-sag"));
    if (filled(standing.sag) && !filled(standing.sag_under)) yield doubt([...path, "standing", "sag_under"], say("sag-needs-mass"));
  }
  yield* impossibleSizes(record);
  for (const [index, anchor] of (record.anchors ?? []).entries()) yield* anchorDisagreements(anchor, ["anchors", index], places);
  for (const [index, pair] of (record.measured_pairs ?? []).entries()) {
    for (const end of ["a", "b"]) {
      if (filled(pair[end]) && !places.some(({ code }) => code === pair[end])) yield doubt(["measured_pairs", index, end], say("no-such-anchor", { code: pair[end] }));
    }
    if (filled(pair.a) && pair.a === pair.b) yield doubt(["measured_pairs", index, "b"], say("same-place"));
  }
  for (const [index, mark] of (record.site?.landmarks ?? []).entries()) yield* positionDisagreements(mark, ["site", "landmarks", index], places);
}

const codesOf = (items, path, key = "code") =>
  (items ?? []).map((item, index) => ({ code: item[key], path: [...path, index] })).filter(({ code }) => filled(code));

function* usedTwice(places, key) {
  const seen = new Set();
  for (const { code, path } of places) {
    if (seen.has(code)) yield doubt([...path, key], say("code-twice", { code }));
    seen.add(code);
  }
}

function* anchorDisagreements(anchor, path, places) {
  for (const [index, reading] of (anchor.trunk ?? []).entries()) {
    const both = filled(reading.girth) && filled(reading.diameter);
    if (both || (!filled(reading.girth) && !filled(reading.diameter))) yield doubt([...path, "trunk", index, "girth"], say("girth-or-diameter"));
  }
  const trial = anchor.trial?.date;
  if (filled(trial) && isDay(trial) && trial > latestDayOnEarth()) yield doubt([...path, "trial", "date"], say("future-day"));
  yield* positionDisagreements(anchor, path, places);
}

function* positionDisagreements(thing, path, places) {
  for (const [index, fix] of (thing.position?.fixes ?? []).entries()) {
    const typed = ["lat", "lon", "at"].filter((name) => filled(fix[name])).join(" ");
    if (typed !== "at" && typed !== "lat lon") yield doubt([...path, "position", "fixes", index, "lat"], say("lat-and-lon"));
  }
  for (const [index, tie] of (thing.position?.ties ?? []).entries()) {
    const where = [...path, "position", "ties", index, "landmark"];
    if (!filled(tie.landmark)) continue;
    if (tie.landmark === thing.code) yield doubt(where, say("measured-from-itself"));
    else if (!places.some(({ code }) => code === tie.landmark)) yield doubt(where, say("no-such-anchor", { code: tie.landmark }));
  }
}

function* ageDoubts(record) {
  const day = record.survey?.date;
  if (!filled(day) || !isDay(day)) return;
  const days = daysBetween(day, today());
  if (days > LIMIT.OLD_SURVEY_DAYS) yield doubt(["survey", "date"], say("old-survey", { days }), say("look-again"));
}

function* sharedDoubts(record) {
  const anchors = record.anchors ?? [];
  yield* shared(anchors, "tag", (anchor) => (filled(anchor.tag) ? anchor.tag : undefined), say("shared-tag"));
  yield* shared(anchors, "code", (anchor) => (filled(anchor.code) ? anchor.code.toLowerCase() : undefined), say("shared-code"));
  yield* shared(anchors, "position", placeOf, say("shared-position"));
}

function placeOf(anchor) {
  const fix = (anchor.position?.fixes ?? []).find((one) => numberOf(one.lat) !== undefined && numberOf(one.lon) !== undefined);
  return fix && [fix.lat, fix.lon].map((text) => Number(text).toFixed(LIMIT.ONE_POSITION_DECIMALS)).join(" ");
}

const numberOf = (text) => (filled(text) && ONLY_NUMBER(text) ? Number(text) : undefined);

function* shared(anchors, name, keyOf, what) {
  const first = new Map();
  for (const [index, anchor] of anchors.entries()) {
    const key = keyOf(anchor);
    if (key === undefined) continue;
    if (first.has(key)) yield doubt(["anchors", index, name], say("shared", { what, code: first.get(key) }), say("slip-entered-twice"));
    else first.set(key, anchor.code);
  }
}

function* positionDoubts(anchor, path) {
  const fixes = anchor.position?.fixes ?? [];
  for (const [index, fix] of fixes.entries()) {
    const where = [...path, "position", "fixes", index];
    if (!filled(fix.accuracy)) yield doubt([...where, "accuracy"], say("no-accuracy"));
    const places = [numberOf(fix.lat), numberOf(fix.lon)];
    const rough = (value) => value !== undefined && Math.abs(value - Number(value.toFixed(LIMIT.ROUGH_DECIMALS - 1))) <= 1e-9;
    if (places.every(rough)) yield doubt([...where, "lat"], say("rough-position"), say("slip-digits-lost"));
  }
}

function* treeDoubts(tree, path) {
  const lean = siOf(tree, "slope", "lean"), slope = siOf(tree.ground, "slope", "slope");
  if (lean > 0 && !filled(tree.lean_toward)) yield doubt([...path, "lean"], say("lean-without-direction", { lean: tree.lean }));
  if (!filled(tree.lean) && filled(tree.lean_toward)) yield doubt([...path, "lean_toward"], say("direction-without-lean"));
  if (Math.abs(slope ?? 0) > 0 && !filled(tree.ground.downhill)) yield doubt([...path, "ground", "slope"], say("slope-without-downhill", { slope: tree.ground.slope }));
  yield* cavityDoubts(tree, path);
  const undercut = form.sectors.filter((sector) => tree.roots?.[sector] === "undercut");
  if (undercut.length && tree.signs?.undercut_roots === "no") yield doubt([...path, "signs", "undercut_roots"], say("undercut-yet-no", { sectors: undercut.join(", ") }), say("slip-sign-there"));
}

function* cavityDoubts(tree, path) {
  if (!tree.hollow) return;
  const sizes = readingsOf(tree, "tree", [])["tree.diameter"] ?? [];
  const thinnest = Math.min(...sizes.map(({ size }) => size));
  const wall = siOf(tree.hollow, "length", "sound_wall"), opening = siOf(tree.hollow, "angle", "opening");
  if (sizes.length && wall >= thinnest / 2) yield doubt([...path, "hollow", "sound_wall"], say("wall-leaves-no-cavity", { wall: tree.hollow.sound_wall, thick: cm(thinnest) }), say("slip-wall"));
  if (opening > LIMIT.WIDE_OPENING_DEG && tree.signs?.wide_opening === "no") yield doubt([...path, "signs", "wide_opening"], say("opening-yet-no", { opening: tree.hollow.opening }), say("slip-sign-there"));
}

function* lineDoubts(record, line, path) {
  yield* spanDoubts(line, path);
  yield* compassDoubts(line, path);
  if (line.webbing) yield* stretchDoubts(line.webbing, [...path, "webbing"]);
  for (const [index, section] of (line.sections ?? []).entries()) yield* stretchDoubts(section, [...path, "sections", index]);
  if (line.webbing && line.sections?.length) yield doubt([...path, "sections"], say("webbing-and-sections"));
  yield* plannedDoubts(record, line, path);
  for (const end of ["a", "b"]) yield* endDoubts(record, line[end], [...path, end]);
}

function* plannedDoubts(record, line, path) {
  const day = line.planned?.date;
  const surveyed = record.survey?.date;
  if (!filled(day) || !filled(surveyed) || !isDay(day) || !isDay(surveyed) || day >= surveyed) return;
  yield doubt([...path, "planned", "date"], say("planned-before-survey", { day, surveyed }));
}

function* stretchDoubts(webbing, path) {
  const rows = (webbing.stretch ?? []).map((row) => [siOf(row, "force", "tension"), siOf(row, "stretch", "stretch")]);
  if (rows.some((row) => row.includes(undefined))) return;
  const steps = [[0, 0], ...rows];
  const rises = rows.every((row, index) => row[0] > steps[index][0] && row[1] > steps[index][1]);
  if (!rises) yield doubt([...path, "stretch"], say("rows-do-not-rise"), say("slip-rows"));
  if (rows.length && filled(webbing.stiffness)) yield doubt([...path, "stiffness"], say("stiffness-and-table"));
}

function* spanDoubts(line, path) {
  const span = line.span, taped = siOf(span, "length", "taped"), slope = siOf(span, "slope", "slope");
  if (!span || taped === undefined) return;
  const level = slope === undefined ? "" : show(taped * Math.cos((slope * Math.PI) / 180), "m", "length", 4);
  const values = { taped: span.taped, slope: span.slope, level };
  if (span.along === "slope" && slope === undefined) yield doubt([...path, "span", "slope"], say("slope-not-read", values));
  else if (span.along === "slope") yield doubt([...path, "span", "taped"], say("taped-is-level", values));
  else if (Math.abs(slope) > LIMIT.SLOPE_WORTH_NAMING_DEG) yield doubt([...path, "span", "along"], say("level-yet-slope", values), say("slip-along-ground"));
  for (const [index, point] of (line.ground ?? []).entries()) {
    const before = line.ground[index - 1], here = siOf(point, "length", "at");
    const says = here > taped ? say("beyond-span", { at: point.at, taped: span.taped }) : here < siOf(before, "length", "at") && say("back-again", { at: point.at, before: before.at });
    if (says) yield doubt([...path, "ground", index, "at"], says, say("slip-other-unit"));
  }
}

function* compassDoubts(line, path) {
  const out = siOf(line.compass, "bearing", "out"), back = siOf(line.compass, "bearing", "back");
  if (out === undefined || back === undefined) return;
  const off = Math.abs(((((out - back) % 360) + 360) % 360) - 180);
  const says = say("half-turn", { out: line.compass.out, back: line.compass.back, off: off.toFixed(0) });
  const where = [...path, "compass", "back"];
  if (off > 180 - LIMIT.UNTURNED_LIMIT_DEG) yield doubt(where, says, say("slip-not-turned"), `${Number(((back + 180) % 360).toPrecision(6))} deg`);
  else if (off > LIMIT.BACK_BEARING_LIMIT_DEG) yield doubt(where, says, say("slip-iron"));
}

function* endDoubts(record, end, path) {
  const tree = (record.anchors ?? []).find((anchor) => anchor.code === end?.anchor);
  const tie = siOf(end, "length", "tie_height");
  if (tie === undefined || tree?.kind !== "tree") return;
  const where = [...path, "tie_height"], values = { tie: end.tie_height, code: tree.code, stems: choiceWord(tree.stems ?? "") };
  const branch = siOf(tree, "length", "crown_base"), height = siOf(tree, "length", "height"), fork = siOf(tree, "length", "fork_height");
  if (tie > branch) yield doubt(where, say("tie-above-branch", { ...values, at: tree.crown_base }), say("slip-other-unit"));
  if (tie > LIMIT.HIGH_TIE_SHARE * height) yield doubt(where, say("tie-high", { ...values, at: tree.height }), say("slip-other-unit"));
  if (fork !== undefined && ["fork above tie", "fork below tie"].includes(tree.stems) && fork > tie !== (tree.stems === "fork above tie")) {
    yield doubt(where, say("fork-elsewhere", { ...values, at: tree.fork_height }), say("slip-heights"));
  }
}
