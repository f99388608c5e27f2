// The program's check of readings, on the phone: values that may be right but look like a slip. Never a block.

/** Every doubtful reading, with the texts that records/finding.Doubt has codes for: {path, says, slip, meant, others, then}. */
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
    if (day > latestDayOnEarth()) yield refusal(["survey", "date"], say("future-day"));
    if (day < LIMIT.EARLIEST_SURVEY) yield refusal(["survey", "date"], say("check-year"));
  }
  const places = [...codesOf(record.site?.landmarks, ["site", "landmarks"]), ...codesOf(record.anchors, ["anchors"])];
  yield* usedTwice(places, "code");
  yield* usedTwice(codesOf(record.lines, ["lines"], "id"), "id");
  const known = new Set((record.anchors ?? []).map((anchor) => anchor.code));
  for (const [index, line] of (record.lines ?? []).entries()) {
    const path = ["lines", index];
    for (const end of ["a", "b"]) {
      const code = line[end]?.anchor;
      if (filled(code) && !known.has(code)) yield refusal([...path, end, "anchor"], say("no-such-anchor", { code }));
    }
    if (filled(line.a?.anchor) && line.a.anchor === line.b?.anchor) yield refusal([...path, "b", "anchor"], say("same-anchor"));
    const { date, until } = line.planned ?? {};
    if (filled(date) && filled(until) && isDay(date) && isDay(until) && until < date) yield refusal([...path, "planned", "until"], say("days-swapped"));
    const standing = line.standing ?? {};
    if (filled(standing.tension) && filled(standing.sag)) yield refusal([...path, "standing"], say("tension-and-sag"));
    if (filled(standing.sag) && !filled(standing.sag_under)) yield refusal([...path, "standing", "sag_under"], say("sag-needs-mass"));
  }
  yield* impossibleSizes(record);
  for (const [index, anchor] of (record.anchors ?? []).entries()) yield* anchorDisagreements(anchor, ["anchors", index], places);
  for (const [index, pair] of (record.measured_pairs ?? []).entries()) {
    for (const end of ["a", "b"]) {
      if (filled(pair[end]) && !places.some(({ code }) => code === pair[end])) yield refusal(["measured_pairs", index, end], say("no-such-anchor", { code: pair[end] }));
    }
    if (filled(pair.a) && pair.a === pair.b) yield refusal(["measured_pairs", index, "b"], say("same-place"));
  }
  for (const [index, mark] of (record.site?.landmarks ?? []).entries()) yield* positionDisagreements(mark, ["site", "landmarks", index], places);
}

const codesOf = (items, path, key = "code") =>
  (items ?? []).map((item, index) => ({ code: item[key], path: [...path, index] })).filter(({ code }) => filled(code));

function* usedTwice(places, key) {
  const seen = new Set();
  for (const { code, path } of places) {
    if (seen.has(code)) yield refusal([...path, key], say("code-twice", { code }));
    seen.add(code);
  }
}

function* anchorDisagreements(anchor, path, places) {
  for (const [index, reading] of (anchor.trunk ?? []).entries()) {
    const both = filled(reading.girth) && filled(reading.diameter);
    if (both || (!filled(reading.girth) && !filled(reading.diameter))) yield refusal([...path, "trunk", index, "girth"], say("girth-or-diameter"));
  }
  const trial = anchor.trial?.date;
  if (filled(trial) && isDay(trial) && trial > latestDayOnEarth()) yield refusal([...path, "trial", "date"], say("future-day"));
  yield* positionDisagreements(anchor, path, places);
}

function* positionDisagreements(thing, path, places) {
  for (const [index, fix] of (thing.position?.fixes ?? []).entries()) {
    const typed = ["lat", "lon", "at"].filter((name) => filled(fix[name])).join(" ");
    if (typed !== "at" && typed !== "lat lon") yield refusal([...path, "position", "fixes", index, "lat"], say("lat-and-lon"));
  }
  for (const [index, tie] of (thing.position?.ties ?? []).entries()) {
    const where = [...path, "position", "ties", index, "landmark"];
    if (!filled(tie.landmark)) continue;
    if (tie.landmark === thing.code) yield refusal(where, say("measured-from-itself"));
    else if (!places.some(({ code }) => code === tie.landmark)) yield refusal(where, say("no-such-anchor", { code: tie.landmark }));
  }
}

function* ageDoubts(record) {
  const day = record.survey?.date;
  if (!filled(day) || !isDay(day)) return;
  const days = daysBetween(day, today());
  if (days > LIMIT.OLD_SURVEY_DAYS) yield doubt(["survey", "date"], worded("old-survey", { days }), { then: worded("look-before-relying") });
}

function* sharedDoubts(record) {
  const anchors = record.anchors ?? [];
  yield* shared(anchors, "tag", (anchor) => (filled(anchor.tag) ? anchor.tag : undefined), (anchor) => worded("tag-shared", { anchor }));
  yield* shared(anchors, "code", (anchor) => (filled(anchor.code) ? anchor.code.toLowerCase() : undefined), (anchor) => worded("code-shared", { anchor }));
  yield* shared(anchors, "position", placeOf, (anchor) => worded("position-shared", { anchor }));
}

function placeOf(anchor) {
  const fix = (anchor.position?.fixes ?? []).find((one) => numberOf(one.lat) !== undefined && numberOf(one.lon) !== undefined);
  return fix && [fix.lat, fix.lon].map((text) => Number(text).toFixed(LIMIT.ONE_POSITION_DECIMALS)).join(" ");
}

const numberOf = (text) => (filled(text) && ONLY_NUMBER(text) ? Number(text) : undefined);

function* shared(anchors, name, keyOf, told) {
  const first = new Map();
  for (const [index, anchor] of anchors.entries()) {
    const key = keyOf(anchor);
    if (key === undefined) continue;
    if (first.has(key)) yield doubt(["anchors", index, name], told(first.get(key)), { slip: worded("slip-entered-twice") });
    else first.set(key, anchor.code);
  }
}

function* positionDoubts(anchor, path) {
  const fixes = anchor.position?.fixes ?? [];
  for (const [index, fix] of fixes.entries()) {
    const where = [...path, "position", "fixes", index];
    if (!filled(fix.accuracy)) yield doubt([...where, "accuracy"], worded("no-accuracy"));
    const places = [numberOf(fix.lat), numberOf(fix.lon)];
    const rough = (value) => value !== undefined && Math.abs(value - Number(value.toFixed(LIMIT.ROUGH_DECIMALS - 1))) <= 1e-9;
    if (places.every(rough)) {
      const [lat, lon] = places.map((place) => plainly(place));
      yield doubt([...where, "lat"], worded("rough-position", { lat, lon }), { slip: worded("slip-digits-lost") });
    }
  }
}

function* treeDoubts(tree, path) {
  const lean = siOf(tree, "slope", "lean"), slope = siOf(tree.ground, "slope", "slope");
  if (lean > 0 && !filled(tree.lean_toward)) yield doubt([...path, "lean"], worded("lean-without-direction", { lean: tree.lean }));
  if (!filled(tree.lean) && filled(tree.lean_toward)) yield doubt([...path, "lean_toward"], worded("direction-without-lean"));
  if (Math.abs(slope ?? 0) > 0 && !filled(tree.ground.downhill)) yield doubt([...path, "ground", "slope"], worded("slope-without-downhill", { slope: tree.ground.slope }));
  yield* cavityDoubts(tree, path);
  const undercut = form.sectors.filter((sector) => tree.roots?.[sector] === "undercut");
  if (undercut.length && tree.signs?.undercut_roots === "no") yield doubt([...path, "signs", "undercut_roots"], worded("undercut-yet-no", { sectors: undercut }), signIsThere());
}

const signIsThere = () => ({ slip: worded("slip-sign-there"), meant: worded("answered-so", { answer: "yes" }) });

function* cavityDoubts(tree, path) {
  if (!tree.hollow) return;
  const sizes = readingsOf(tree, "tree", [])["tree.diameter"] ?? [];
  const thinnest = Math.min(...sizes.map(({ size }) => size));
  const wall = siOf(tree.hollow, "length", "sound_wall"), opening = siOf(tree.hollow, "angle", "opening");
  if (sizes.length && wall >= thinnest / 2) yield doubt([...path, "hollow", "sound_wall"], worded("wall-leaves-no-cavity", { wall: tree.hollow.sound_wall, thick: thinnest }), { slip: worded("slip-wall") });
  if (opening > LIMIT.WIDE_OPENING_DEG && tree.signs?.wide_opening === "no") yield doubt([...path, "signs", "wide_opening"], worded("opening-yet-no", { opening: tree.hollow.opening }), signIsThere());
}

function* lineDoubts(record, line, path) {
  yield* spanDoubts(line, path);
  yield* compassDoubts(line, path);
  if (line.webbing) yield* stretchDoubts(line.webbing, [...path, "webbing"]);
  for (const [index, section] of (line.sections ?? []).entries()) yield* stretchDoubts(section, [...path, "sections", index]);
  if (line.webbing && line.sections?.length) yield doubt([...path, "sections"], worded("webbing-and-sections"));
  yield* plannedDoubts(record, line, path);
  for (const end of ["a", "b"]) yield* endDoubts(record, line[end], [...path, end]);
}

function* plannedDoubts(record, line, path) {
  const day = line.planned?.date;
  const surveyed = record.survey?.date;
  if (!filled(day) || !filled(surveyed) || !isDay(day) || !isDay(surveyed) || day >= surveyed) return;
  yield doubt([...path, "planned", "date"], worded("planned-before-survey", { day, surveyed }), { slip: worded("slip-days"), then: worded("plan-a-day-to-come") });
}

function* stretchDoubts(webbing, path) {
  const rows = (webbing.stretch ?? []).map((row) => [siOf(row, "force", "tension"), siOf(row, "stretch", "stretch")]);
  if (rows.some((row) => row.includes(undefined))) return;
  const steps = [[0, 0], ...rows];
  const rises = rows.every((row, index) => row[0] > steps[index][0] && row[1] > steps[index][1]);
  if (!rises) yield doubt([...path, "stretch"], worded("rows-do-not-rise"), { slip: worded("slip-rows") });
  if (rows.length && filled(webbing.stiffness)) yield doubt([...path, "stiffness"], worded("stiffness-and-table"));
}

function* spanDoubts(line, path) {
  const span = line.span, taped = siOf(span, "length", "taped"), slope = siOf(span, "slope", "slope");
  if (!span || taped === undefined) return;
  const levelPart = (deg) => Math.cos((deg * Math.PI) / 180), level = taped * levelPart(slope), example = LIMIT.EXAMPLE_SLOPE_DEG;
  const values = { taped: span.taped, slope: span.slope, level };
  if (span.along === "slope" && slope === undefined) {
    const then = worded("read-the-slope", { slope: example, less: 100 * (1 - levelPart(example)) });
    yield doubt([...path, "span", "slope"], worded("slope-not-read", values), { then });
  } else if (span.along === "slope") yield doubt([...path, "span", "taped"], worded("taped-is-level", values));
  else if (Math.abs(slope) > LIMIT.SLOPE_WORTH_NAMING_DEG) {
    yield doubt([...path, "span", "along"], worded("level-yet-slope", values), { slip: worded("slip-along-ground"), meant: worded("so-long-level", values) });
  }
  for (const [index, point] of (line.ground ?? []).entries()) yield* groundDoubts(point, line.ground[index - 1] ?? {}, span, [...path, "ground", index]);
}

function* groundDoubts(point, before, span, path) {
  const here = siOf(point, "length", "at"), last = siOf(before, "length", "at");
  const values = { at: point.at, taped: span.taped, before: before.at, one: before.height, other: point.height };
  const twice = here === last && filled(before.height) && filled(point.height) && before.height !== point.height;
  const slip = worded("slip-other-unit");
  if (here > siOf(span, "length", "taped") + LIMIT.SPAN_ROUNDED_M) yield doubt([...path, "at"], worded("beyond-span", values), { slip });
  else if (here < last) yield doubt([...path, "at"], worded("back-again", values), { slip });
  else if (here !== undefined && twice) yield doubt([...path, "height"], worded("two-heights", values), { slip: worded("slip-other-place") });
}

function* compassDoubts(line, path) {
  const out = siOf(line.compass, "bearing", "out"), back = siOf(line.compass, "bearing", "back");
  if (out === undefined || back === undefined) return;
  const off = Math.abs(((((out - back) % 360) + 360) % 360) - 180);
  const told = worded("half-turn", { out: line.compass.out, back: line.compass.back, off });
  const where = [...path, "compass", "back"];
  if (off > 180 - LIMIT.UNTURNED_LIMIT_DEG) {
    const meant = worded("as-typed", { typed: `${plainly((back + 180) % 360)} deg` });
    yield doubt(where, told, { slip: worded("slip-not-turned"), meant });
  } else if (off > LIMIT.BACK_BEARING_LIMIT_DEG) yield doubt(where, told, { slip: worded("slip-iron"), then: worded("sight-again") });
}

function* endDoubts(record, end, path) {
  const tree = (record.anchors ?? []).find((anchor) => anchor.code === end?.anchor);
  const tie = siOf(end, "length", "tie_height");
  if (tie === undefined || tree?.kind !== "tree") return;
  const where = [...path, "tie_height"], values = { tie: end.tie_height, anchor: tree.code, stems: tree.stems };
  const branch = siOf(tree, "length", "crown_base"), height = siOf(tree, "length", "height"), fork = siOf(tree, "length", "fork_height");
  if (tie > branch) yield doubt(where, worded("tie-above-branch", { ...values, at: tree.crown_base }), { slip: worded("slip-other-unit") });
  if (tie > LIMIT.HIGH_TIE_SHARE * height) yield doubt(where, worded("tie-high", { ...values, at: tree.height }), { slip: worded("slip-other-unit") });
  if (fork !== undefined && ["fork above tie", "fork below tie"].includes(tree.stems) && fork > tie !== (tree.stems === "fork above tie")) {
    yield doubt(where, worded("fork-elsewhere", { ...values, at: tree.fork_height }), { slip: worded("slip-heights") });
  }
}

// ---- how a doubt is told: the wordings of data/findings.yaml, filled in as reference/findings.py fills them

/** A wording with its values: SI numbers, words of the tables, what was typed, or wordings within it. */
const worded = (code, values = {}) => form.told[code].replace(/\{(\w+):?([^}]*)\}/g, (whole, name, how) => written(values[name], how));

function written(value, how) {
  if (!how) return value;
  if (how === "word") return form.named[value] ?? choiceWord(value);
  if (how === "words") return value.map((one) => written(one, "word")).join(", ");
  if (how === "marked") return value.replaceAll(".", say("decimal-mark"));
  if (how === "saids") return value.join(say("between"));
  const [figures, unit] = how.split(" ").reverse();
  const number = unit ? value / form.units.length[unit] : value;
  const text = figures === "g" ? plainly(number) : figures.startsWith("~") ? fixed(number, placesOf(number, figures.slice(1))) : fixed(number, figures);
  return text.replace(".", say("decimal-mark")) + (unit ? ` ${unit}` : "");
}

/** A number with so many decimals; of a half the even one, as the program rounds. */
function fixed(number, places) {
  const text = number.toFixed(places), isHalf = number.toFixed(Number(places) + 30).endsWith(`5${"0".repeat(29)}`);
  return isHalf && text.at(-1) % 2 ? text.slice(0, -1) + (text.at(-1) - 1) : text;
}

/** How many decimals it takes to show so many figures that count. */
const placesOf = (number, figures) => Math.max(0, figures - 1 - (number ? Math.floor(Math.log10(Math.abs(number))) : 0));
const plainly = (number, figures = 6) => String(Number(fixed(number, placesOf(number, figures))));

/** All that is told of a doubt, or the one sentence of what is refused. */
function sentenceOf({ says, slip, meant, others = [], then }) {
  const more = [
    slip && worded("doubt-likelier", { what: slip }), meant && worded("doubt-would-be", { what: meant }),
    others.length && worded("doubt-or", { others }), then && worded("doubt-then", { what: then }),
  ];
  return `${says}${more.filter(Boolean).join("")}.`;
}
