// Slips of unit and size, by the program's own table of what is usual: see siteassess/records/sizes.py.
const { customary: CUSTOMARY, anywhere: ANYWHERE, no_percent: NO_PERCENT, long: LONG_UNITS, shifts: SHIFTS } = form.sizes;
const BY_CATALOGUE = form.sizes.catalogue.map(nameAt);
const capital = (text) => text[0].toUpperCase() + text.slice(1); // the program's wordings stand behind a name and a colon
const doubt = (path, told, more = {}) => ({ path, says: capital(told), ...more });
const refusal = (path, says) => ({ path, says });
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
    const { reading, gains: [[most, meant], ...rest] } = best;
    const mended = (term) => misfit(term) - misfit(term, reading, meant.size);
    const worst = touching.get(reading).reduce((one, other) => (mended(other) > mended(one) ? other : one));
    const told = mended(worst) > 0 ? farOut(worst, reading) : worded("only-in-unit", { one: asTyped(reading) });
    const also = rest.filter(([gain, one]) => gain >= 0 && most - gain <= LIMIT.ALSO_MISFIT && !isNear(one.size, meant.size, LIMIT.ALIKE));
    const others = also.map(([, one]) => worded("slip-and-meant", { slip: one.slip, meant: one.told }));
    yield doubt(reading.path, told, { slip: meant.slip, meant: meant.told, others });
    Object.assign(reading, { size: meant.size, told: true });
    odd = odd.filter(({ name }) => name !== reading.name);
  }
  for (const term of terms) {
    if (misfit(term) <= LIMIT.RARE_MISFIT || term.size.told) continue;
    term.size.told = true;
    yield doubt(term.size.path, farOut(term, term.size), { then: worded("check-again") });
  }
}

/** Sizes that cannot stand beside another: the program refuses them. */
function* impossibleSizes(record) {
  for (const { rule, size, beside } of termsOf(record)) {
    if (!beside || (size.size >= rule.least * beside.size && size.size <= rule.most * beside.size)) continue;
    yield refusal(size.path, say("cannot-be-beside", { one: capital(asTyped(size)), other: asTyped(beside) }));
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

/** The reading that another meaning mends most beyond what a slip must mend, with what each meaning mends. */
function surest(readings, touching, odd, finer) {
  let best;
  for (const reading of readings.filter((one) => !one.told)) {
    const misfits = (meant) => touching.get(reading).map((term) => misfit(term, reading, meant));
    const sum = (some) => some.reduce((one, other) => one + other, 0);
    const shape = touching.get(reading).filter(({ rule }) => `${rule.answers}`.includes("genus"));
    const now = sum(misfits(reading.size)) - (shape[1] ? LIMIT.TRUNK_MISFIT : 0), gains = [];
    for (const meant of reading.meanings) {
      const then = misfits(meant.size), asked = askedOf(reading, meant, odd, finer);
      if (asked > 0 && touching.get(reading).some(({ rule }, index) => then[index] > LIMIT.LEFT_MISFIT && !rule.cap)) continue;
      gains.push([now - sum(then) - asked - LIMIT.FAR_MISFIT * Math.abs(Math.log(meant.size / reading.size)), meant]);
    }
    gains.sort(([one], [other]) => other - one);
    if (gains[0]?.[0] >= 0 && !(gains[0][0] <= best?.gains[0][0])) best = { reading, gains };
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
  const one = asTyped(reading);
  if (term.beside) return worded("not-beside", { one, other: asTyped(other) });
  return term.rule.low && reading.size < term.rule.low ? worded("less-than-usual", { one }) : worded("more-than-usual", { one });
}

/** A reading with its name: "girth 142 cm". */
const asTyped = ({ path, text }) => worded("size-typed", { name: spaced(path.at(-1)), typed: text });
const isNear = (one, other, share) => Math.abs(one - other) <= share * Math.max(one, other);

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
  const trunk = reading.name === "tree.diameter", typed = reading.text;
  const toldOf = (text) => (trunk ? worded("size-meant", { name: spaced(reading.path.at(-1)), typed: text }) : worded("as-meant", { typed: text }));
  const found = [];
  if (trunk && isGirth) found.push({ size: si, slip: worded("slip-diameter-as-girth"), told: worded("size-typed", { name: "diameter", typed }), trunk });
  else if (trunk) found.push({ size: si / Math.PI, slip: worded("slip-girth-as-diameter"), told: worded("girth-so-thick", { typed, thick: si / Math.PI }), trunk });
  if (!unit) return found;
  const sizeFrom = (value) => Math.abs(value) / (isGirth ? Math.PI : 1);
  for (const other of NO_PERCENT.includes(reading.name) ? [] : form.sizes.units[kind] ?? []) {
    const meant = readQuantity(`${number} ${other}`, kind).si;
    if (form.units[kind][other] === form.units[kind][unit]) continue;
    const shown = CUSTOMARY.includes(other) !== customary(reading) ? ` (${shortly(meant, unit, kind)})` : "";
    found.push({ size: sizeFrom(meant), slip: worded("slip-typed-as", { one: other, other: unit }), told: toldOf(`${number} ${other}${shown}`), unit: other });
  }
  for (const shift of SHIFTS) {
    const moved = Number((number * shift).toPrecision(6));
    if (Math.abs(moved) < LIMIT.LEAST_WRITTEN) continue;
    const size = sizeFrom(readQuantity(`${moved} ${unit}`, kind).si);
    if (!found.some((one) => isNear(one.size, size, 0.01))) found.push({ size, slip: worded("slip-point"), told: toldOf(`${moved} ${unit}`) });
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
  const wrongSign = read.si < 0 && kind !== "slope" && !name.startsWith("line.ground");
  return read.fault || wrongSign || !(size > 0) ? undefined : { ...read, name, kind, path, text, isGirth, size };
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
    const told = worded("differ", { one: asTyped(high), other: asTyped(low), share: 100 * (ratio - 1) });
    return doubt(high.path, told, { slip: worded("slip-one-of-them"), then: worded("tape-again") });
  }
  if (high.size > LIMIT.UPWARD_RATIO * low.size) {
    const told = worded("grows-upward", { low: low.size, at: low.at, high: high.size, above: high.at });
    return doubt(high.path, told, { slip: worded("slip-heights-swapped") });
  }
  const allowed = LIMIT.STEEPEST_TAPER * apart + (LIMIT.SAME_PLACE_RATIO - 1) * high.size;
  if (low.at >= LIMIT.FLARE_TOP_M && low.size - high.size > allowed) {
    const told = worded("tapers", { loss: low.size - high.size, apart: Number(plainly(apart, 2)), most: LIMIT.STEEPEST_TAPER });
    return doubt(high.path, told, { slip: worded("slip-one-misread") });
  }
  return undefined;
}
