// Slips of unit and size, by the program's own table of what is usual: see siteassess/records/sizes.py.
const CUSTOMARY = ["in", "inch", "inches", "ft", "feet", "foot", "yd", "lb", "lbs", "lbf"];
const BY_CATALOGUE = form.sizes.catalogue.map(nameAt), ANYWHERE = ["kN", "daN", "kgf"], NO_PERCENT = ["tree.lean"];
const LONG_UNITS = ["m", "ft"], SHIFTS = [10, 0.1, 100, 0.01, 1000, 0.001];
const doubt = (path, says, likelier = "", wouldBe = "") => ({ path, says, likelier, wouldBe });
const customary = (reading) => CUSTOMARY.includes(reading.unit);

/** One doubt for each reading that another meaning of its figures would mend, the surest first. */
function* sizeDoubts(record) {
  const terms = termsOf(record);
  const touching = new Map();
  for (const term of terms) for (const reading of [term.size, term.beside]) if (reading) touching.set(reading, [...(touching.get(reading) ?? []), term]);
  const readings = [...touching.keys()];
  let odd = oddOnes(readings), finer = finerOnes(readings);
  for (const reading of readings) reading.meanings = meaningsOf(reading);
  for (let best; (best = surest(readings, touching, odd, finer)); ) {
    const { reading, meant } = best;
    const mended = (term) => misfit(term) - misfit(term, reading, meant.size);
    const worst = touching.get(reading).reduce((one, other) => (mended(other) > mended(one) ? other : one));
    const says = mended(worst) > 0 ? farOut(worst, reading) : say("only-in-unit", { value: asTyped(reading) });
    yield doubt(reading.path, says, meant.likelier, meant.wouldBe);
    Object.assign(reading, { size: meant.size, told: true });
    odd = odd.filter(({ name }) => name !== reading.name);
  }
  for (const term of terms) {
    if (misfit(term) <= LIMIT.RARE_MISFIT || term.size.told) continue;
    term.size.told = true;
    yield doubt(term.size.path, farOut(term, term.size));
  }
}

/** Sizes that cannot stand beside another: the program refuses them. */
function* impossibleSizes(record) {
  for (const { rule, size, beside } of termsOf(record)) {
    if (!beside || (size.size >= rule.least * beside.size && size.size <= rule.most * beside.size)) continue;
    yield doubt(size.path, say("cannot-be-beside", { one: asTyped(size), other: asTyped(beside) }));
  }
}

/** How far out of the usual, with one of the readings taken as something else. */
function misfit({ rule, size, beside, factor }, instead, meant) {
  if (!rule.sd) return 0;
  const own = size === instead ? meant : size.size;
  const scale = beside ? factor * (beside === instead ? meant : beside.size) ** rule.exponent : 1;
  const under = rule.low ? Math.log((rule.low * scale) / own) : 0, over = rule.high ? Math.log(own / (rule.high * scale)) : 0;
  return Math.min((Math.max(0, under, over) / rule.sd) ** 2, rule.cap || Infinity);
}

function surest(readings, touching, odd, finer) {
  let best, most = 0;
  for (const reading of readings.filter((one) => !one.told)) {
    const misfits = (meant) => touching.get(reading).map((term) => misfit(term, reading, meant));
    const sum = (some) => some.reduce((one, other) => one + other, 0);
    const shape = touching.get(reading).filter(({ rule }) => `${rule.answers}`.includes("genus"));
    const now = sum(misfits(reading.size)) - (shape[1] ? LIMIT.TRUNK_MISFIT : 0);
    for (const meant of reading.meanings) {
      const then = misfits(meant.size), asked = askedOf(reading, meant, odd, finer);
      if (asked > 0 && touching.get(reading).some(({ rule }, index) => then[index] > LIMIT.LEFT_MISFIT && !rule.cap)) continue;
      const gain = now - sum(then) - asked - LIMIT.FAR_MISFIT * Math.abs(Math.log(meant.size / reading.size));
      if (gain > most || (!best && gain >= 0)) [best, most] = [{ reading, meant }, gain];
    }
  }
  return best;
}

function askedOf(reading, meant, odd, finer) {
  if (meant.trunk) return reading.isGirth ? LIMIT.SLIP_MISFIT : LIMIT.GIRTH_MISFIT;
  if (!meant.unit) return finer.includes(reading) && meant.size > reading.size ? LIMIT.FINER_MISFIT : LIMIT.POINT_MISFIT;
  const crosses = CUSTOMARY.includes(meant.unit) !== customary(reading);
  const strange = crosses && LONG_UNITS.includes(meant.unit) !== LONG_UNITS.includes(reading.unit);
  return (crosses && odd.includes(reading) ? LIMIT.ODD_UNIT_MISFIT : LIMIT.SLIP_MISFIT) + (strange ? LIMIT.STRANGE_MISFIT : 0);
}

function farOut(term, reading) {
  const other = term.size === reading ? term.beside : term.size;
  if (term.beside) return say("not-beside", { one: asTyped(reading), other: asTyped(other) });
  return say(term.rule.low && reading.size < term.rule.low ? "less-than-usual" : "more-than-usual", { value: asTyped(reading) });
}

const asTyped = (reading) => (reading.name === "tree.diameter" ? `${say(reading.isGirth ? "girth" : "diameter")} ${reading.text}` : reading.text);

/** The only length in feet and inches among metric ones, or the only metric one; the same of forces and masses. */
function oddOnes(readings) {
  const taped = readings.filter((one) => one.unit === "cm" || !BY_CATALOGUE.includes(one.name)), of = (kind) => taped.filter((one) => one.kind === kind);
  const feet = of("length").filter(customary), metric = of("length").filter((one) => !customary(one));
  const found = [[feet, metric], [metric, feet]].flatMap(([few, many]) => {
    if (many.length < LIMIT.LEAST_OTHERS) return [];
    if (few.length) return few.length === 1 ? few : [];
    return ["force", "mass"].flatMap((kind) => {
      const odd = of(kind).filter((one) => customary(one) !== customary(many[0]) && !ANYWHERE.includes(one.unit));
      return odd.length === 1 ? odd : [];
    });
  });
  const others = (one) => taped.filter((other) => other.name === one.name && other !== one);
  const alone = (one) => others(one)[0] && others(one).every((other) => customary(other) !== customary(one));
  return [...found, ...of("length").filter(alone)];
}

/** The only lean or slope with more decimals than the others: a phone shows as many of them all. */
function finerOnes(readings) {
  const decimals = ({ number }) => (number.split(".")[1] ?? "").length;
  const sloping = readings.filter(({ kind }) => kind === "slope").sort((one, other) => decimals(other) - decimals(one));
  return sloping.length > 1 && decimals(sloping[0]) > decimals(sloping[1]) ? [sloping[0]] : [];
}

/** Other readings of the figures that were typed. */
function meaningsOf(reading) {
  const { kind, number, unit, si, isGirth } = reading;
  const trunk = reading.name === "tree.diameter", name = trunk ? `${say(isGirth ? "girth" : "diameter")} ` : "";
  const found = [];
  if (trunk && isGirth) found.push({ size: si, likelier: say("slip-diameter-as-girth"), wouldBe: `${say("diameter")} ${reading.text}`, trunk });
  else if (trunk) {
    const across = si / Math.PI;
    found.push({ size: across, likelier: say("slip-girth-as-diameter"), wouldBe: `${say("girth")} ${reading.text}, ${say("thick", { size: cm(across) })}`, trunk });
  }
  if (!unit) return found;
  const sizeFrom = (value) => Math.abs(value) / (isGirth ? Math.PI : 1);
  for (const other of NO_PERCENT.includes(reading.name) ? [] : form.sizes.units[kind] ?? []) {
    const meant = readQuantity(`${number} ${other}`, kind).si;
    if (form.units[kind][other] === form.units[kind][unit]) continue;
    const shown = CUSTOMARY.includes(other) !== customary(reading) ? ` (${shortly(meant, unit, kind)})` : "";
    found.push({ size: sizeFrom(meant), likelier: say("slip-typed-as", { one: other, other: unit }), wouldBe: `${name}${number} ${other}${shown}`, unit: other });
  }
  for (const shift of SHIFTS) {
    const moved = Number((number * shift).toPrecision(6));
    if (Math.abs(moved) < LIMIT.LEAST_WRITTEN) continue;
    const size = sizeFrom(readQuantity(`${moved} ${unit}`, kind).si);
    const same = (one) => Math.abs(one.size - size) <= 0.01 * Math.max(one.size, size);
    if (!found.some(same)) found.push({ size, likelier: say("slip-point"), wouldBe: `${name}${moved} ${unit}` });
  }
  return found;
}

function shortly(si, unit, kind) {
  const factor = form.units[kind][unit];
  const number = factor === null ? 100 * Math.tan((si * Math.PI) / 180) : si / factor;
  return `${Number(number.toPrecision(3))} ${unit}`;
}

/** Every rule of the table on every reading it is about. */
function termsOf(record) {
  const terms = [], byCode = new Map(), before = {};
  for (const [index, anchor] of (record.anchors ?? []).entries()) {
    const found = readingsOf(anchor, anchor.kind, ["anchors", index]);
    if (!byCode.has(anchor.code)) byCode.set(anchor.code, found);
    const factors = form.sizes.genera.get(String(anchor.species?.name).split(" ")[0]);
    terms.push(...termsBetween(found, found, { ...anchor, genus: factors ? "genus" : "no genus" }, { ...before, "tree.diameter": found["tree.diameter"] }, factors));
    Object.assign(before, found);
  }
  for (const [index, line] of (record.lines ?? []).entries()) {
    const found = readingsOf(line, "line", ["lines", index]);
    terms.push(...termsBetween(found, found, line, found));
    let far = {};
    for (const side of ["a", "b"]) {
      const end = line[side] ?? {}, own = readingsOf(end, "end", ["lines", index, side]);
      terms.push(...termsBetween(own, { ...byCode.get(end.anchor), ...found, ...own }, { use: line.use, kind: end.sling?.kind ?? "unknown" }, far));
      far = own;
    }
  }
  return terms;
}

function termsBetween(own, known, holder, like, factors) {
  const terms = [];
  for (const rule of form.sizes.rules) {
    if (!own[rule.size] || (rule.answers && !rule.answers.some((one) => one === holder.use || one === holder.kind || one === holder.genus))) continue;
    const beside = (rule.beside === rule.size ? like : known)[rule.beside]?.[0];
    const factor = rule.answers[0] === "genus" ? factors[rule.size === "tree.height" ? 1 : 2] / 100 : 1;
    if (rule.beside && !beside) continue;
    for (const size of own[rule.size]) {
      const alone = !rule.beside && rule.size === "tree.diameter" && size !== own[rule.size][0];
      if (!alone && size !== beside) terms.push({ rule, size, beside, factor });
    }
  }
  return terms;
}

function readingsOf(node, scope, path) {
  const found = {};
  for (const [name, kind = "length"] of form.sizes.names) {
    if (!name.startsWith(`${scope}.`)) continue;
    let some;
    if (name === "tree.diameter") some = (node.trunk ?? []).flatMap((one, index) => ["girth", "diameter"].flatMap((key) => [...textsAt(one, [key], [...path, "trunk", index])]));
    else if (name === "tree.read_at") some = [...textsAt(node, ["trunk", "read_at"], path)].slice(0, 1);
    else some = [...textsAt(node, name.split(".").slice(1), path)];
    some = some.map((one) => sized(name, kind, one)).filter(Boolean);
    if (some.length) found[name] = some;
  }
  return found;
}

function* textsAt(node, steps, path) {
  if (Array.isArray(node)) for (const [index, item] of node.entries()) yield* textsAt(item, steps, [...path, index]);
  else if (!steps.length && filled(node)) yield { path, text: node };
  else if (steps.length && node?.[steps[0]] !== undefined) yield* textsAt(node[steps[0]], steps.slice(1), [...path, steps[0]]);
}

function sized(name, kind, { path, text }) {
  const read = readQuantity(text, kind);
  const isGirth = name === "tree.diameter" && path.at(-1) === "girth";
  const size = Math.abs(read.si) / (isGirth ? Math.PI : 1);
  return read.fault || !(size > 0) ? undefined : { ...read, name, kind, path, text, isGirth, size };
}

// ---- readings of one trunk that cannot belong together

function* trunkDoubts(tree, path) {
  const sizes = readingsOf(tree, "tree", path)["tree.diameter"] ?? [];
  for (const size of sizes) size.at = siOf(tree.trunk[size.path[3]], "length", "read_at");
  yield* sizes.flatMap((one, index) => sizes.slice(index + 1).map((other) => unlike(one, other))).filter(Boolean);
}

function unlike(one, other) {
  if (one.at === undefined || other.at === undefined) return undefined;
  const [low, high] = one.at <= other.at ? [one, other] : [other, one];
  const apart = high.at - low.at;
  const ratio = Math.max(low.size, high.size) / Math.min(low.size, high.size);
  if (apart < LIMIT.SAME_HEIGHT_M) {
    if (ratio <= LIMIT.SAME_PLACE_RATIO) return undefined;
    const says = say("differ", { one: asTyped(high), other: asTyped(low), share: (100 * (ratio - 1)).toFixed(0) });
    return doubt(high.path, says, say("tape-again"));
  }
  if (high.size > LIMIT.UPWARD_RATIO * low.size) {
    const says = say("grows-upward", { low: cm(low.size), at: low.at, high: cm(high.size), above: high.at });
    return doubt(high.path, says, say("slip-heights-swapped"));
  }
  const allowed = LIMIT.STEEPEST_TAPER * apart + (LIMIT.SAME_PLACE_RATIO - 1) * high.size;
  if (low.at >= LIMIT.FLARE_TOP_M && low.size - high.size > allowed) {
    const says = say("tapers", { loss: cm(low.size - high.size), apart: Number(apart.toPrecision(2)), most: cm(LIMIT.STEEPEST_TAPER) });
    return doubt(high.path, says, say("slip-one-misread"));
  }
  return undefined;
}
