// A first word for a line, read off the tables that the program wrote: what each trunk carries, what the line pulls.
// It is no verdict, and where an answer leaves the tables it gives no number.
const first = form.first;
const PLAIN_ROOTS = ["covered", "tips", "ridges up to 5 cm", "not looked"];

/** The numbers of a table: logarithms in steps, two letters each. */
function numbersOf(letters) {
  const many = first.letters.length, place = (at) => first.letters.indexOf(letters[at]);
  return Array.from({ length: letters.length / 2 }, (_, at) => place(2 * at) * many + place(2 * at + 1) - first.offset);
}

/** A value between the rows of a table, straight in its logarithms; undefined past an end that may not be held to. */
function between(table, axes) {
  let rows = [[0, 1]]; // places in the table, and how much each counts
  for (const [values, value, held] of axes) {
    const last = values.length - 1;
    if (!(value >= values[0]) && !held?.includes("low") || value > values[last] && !held?.includes("high")) return undefined;
    const inside = Math.min(Math.max(value, values[0]), values[last]);
    const over = Math.min(Math.max(values.findLastIndex((one) => one <= inside), 0), last - 1);
    const part = Math.log(inside / values[over]) / Math.log(values[over + 1] / values[over]);
    rows = rows.flatMap(([at, share]) => [[at * values.length + over, share * (1 - part)], [at * values.length + over + 1, share * part]]);
  }
  const used = rows.filter(([, share]) => share > 0);
  if (used.some(([at]) => table[at] >= first.most)) return undefined;
  return Math.exp(first.step * used.reduce((sum, [at, share]) => sum + share * table[at], 0));
}

const straight = (pairs, value) => {
  const over = Math.min(Math.max(pairs.findLastIndex(([at]) => at <= value), 0), pairs.length - 2);
  const [[from, low], [to, high]] = pairs.slice(over, over + 2);
  return low + ((high - low) * (Math.min(Math.max(value, from), to) - from)) / (to - from);
};
const least = (pairs, value) => pairs.find(([at]) => at >= value)?.[1];

first.moments = first.moments.map(numbersOf);
first.free = first.free.map(numbersOf);
// a blank stands before a letter and how often it is repeated
first.held = first.held.map((letters) => [...letters.replace(/ (.)(.)/g, (_, letter, many) => letter.repeat(first.letters.indexOf(many)))].map((letter) => -first.held_step * first.letters.indexOf(letter)));
first.stems = first.stems.map(numbersOf);
first.wood = [...first.wood].map((letter) => first.letters.indexOf(letter));
first.named = [...first.named].map((letter) => first.letters.indexOf(letter));
for (const name of ["arms", "kinds", "lean", "hammocks", "sags"]) first[name] = numbersOf(first[name]);

/** The thinnest reading of a trunk at breast height, the one worst read: {girth, how, at}. */
function girthOf(tree) {
  const readings = (tree.trunk ?? []).map((one) => ({
    girth: siOf(one, "length", "girth") ?? siOf(one, "length", "diameter") * Math.PI, how: first.girth_how[one.how ?? "unknown"], at: siOf(one, "length", "read_at"),
  }));
  if (!readings.length || readings.some(({ girth, at, how }) => !(girth > 0) || at === undefined || how === undefined)) return undefined;
  const girths = readings.map((one) => one.girth);
  return { girth: Math.min(...girths), thickest: Math.max(...girths), how: Math.max(...readings.map((one) => one.how)), at: Math.min(...readings.map((one) => one.at)) };
}

const isTold = (value) => (typeof value === "object" && value ? Object.values(value).some(isTold) : filled(value));
const toldUnder = (part, name) => say("first-told", { what: fieldOf(part, name).ask });
/** Whether an answer of a part is none, or lies outside its field's range; what was left out is no fault. */
const isFaulty = (part, values) => [...faultsOfPart(part, values, [])].some(({ path }) => isTold(path.reduce((one, step) => one?.[step], values)));

/** Why what a tree carries is not told, or "": several may bear one name, and what is near the tie was never tried. */
function notWeighed(tree, tie, lines, anchors) {
  const others = anchors.filter((one) => one !== tree), twin = isTold(tree.tag) && others.find((one) => knownKey(one.tag ?? "") === knownKey(tree.tag));
  if (isFaulty("Tree", tree)) return say("first-fault");
  if (others.some((one) => one.code === tree.code)) return say("code-twice", { code: tree.code });
  if (twin) return worded("tag-shared", { anchor: twin.code });
  for (const name of ["trial", "hollow"]) if (isTold(tree[name])) return toldUnder("Tree", name);
  if (isTold(tree.bark?.thickness)) return toldUnder("Bark", "thickness");
  if (tree.softer_signs?.hollow_sound === "yes") return toldUnder(fieldOf("Tree", "softer_signs").parts[0], "hollow_sound");
  if (siOf(tree, "length", "crown_base") < tie) return toldUnder("Tree", "crown_base");
  const rows = ["ground", "ground_below"].find((name) => lines.some((line) => line[name]?.length));
  return rows ? toldUnder("Line", rows) : "";
}

/** What of a tree the tables do not hold; "" where nothing is. */
function outsideOf(tree, tie, height, lines) {
  const fork = siOf(tree, "length", "fork_height"), lean = siOf(tree, "slope", "lean"), slope = siOf(tree.ground, "slope", "slope");
  if (tree.kind !== "tree") return "first-no-tree";
  if (lines.length > 1) return "first-lines";
  if (!["single", "fork above tie", "unknown"].includes(tree.stems ?? "unknown") || tree.each_stem?.length || fork <= tie + 1) return "first-stems";
  if (Object.values(tree.roots ?? {}).some((state) => !PLAIN_ROOTS.includes(state)) || tree.hard_edge_near === "yes" || tree.hard_edges?.length || filled(tree.ground?.bank_distance)) return "first-roots";
  if (Math.abs(slope) > first.level) return "first-slope";
  if (Math.abs(lean) > first.most_lean) return "first-lean";
  if (tree.ground?.shallow === "yes" || tree.ground?.texture === "rock") return "first-shallow";
  return tie > first.tie_share * height ? "first-high-tie" : "";
}

/** The place of a tree among the kinds that were winched, and how strong its wood is: the least its name may mean.
    A name that several genera share tells the program none of them. */
function kindOf(species) {
  const key = knownKey(species?.name ?? ""), sure = ["sure", "think so"].includes(species?.certainty);
  const meant = form.species.flatMap(({ name, common, others }, at) => ([name, genusOf(name), ...common, ...others].some((one) => one && knownKey(one) === key) ? [at] : []));
  const kinds = meant.map((at) => first.named[2 * at + (sure ? 0 : 1)]), wood = meant.map((at) => first.wood[at]);
  const palm = species?.leaf_type === "palm" || kinds.includes(first.palm) || (!meant.length && key.includes(first.palms));
  if (new Set(meant.map((at) => genusOf(form.species[at].name))).size !== 1) kinds.push(first.unknown[species?.leaf_type] ?? 0), wood.push(0);
  return { palm, kind: Math.min(...kinds), wood: Math.min(...wood) };
}

/** Whether the tables know the kind of a tree by what was said of it; one they do not know is weighed as the weakest. */
const knownKind = (tree) => !TREE_LACKS["species or leaf type"](tree);

/** What a tree carries at a tie [N], or why there is no number: {carries}, {thin}, {lacks} or {outside}. */
function carriesOf(tree, end, lines = [], anchors = state.record.anchors) {
  const tie = siOf(end, "length", "tie_height"), read = girthOf(tree), height = siOf(tree, "length", "height");
  const stop = Object.keys(form.deciding.signs).find((name) => tree.signs?.[name] === "yes");
  if (stop) return { stop };
  if (read?.thickest < first.least_girth && !isFaulty("Tree", tree)) return { thin: read.girth };
  const key = outsideOf(tree, tie, height, lines), outside = key ? say(key) : notWeighed(tree, tie, lines, anchors);
  if (outside) return { outside };
  if (!read) return { lacks: "trunk size" };
  if (height === undefined) return { lacks: "tree height" };
  if (tie === undefined) return { lacks: "tie height" };
  // a reading far under the tie, or one that may be too thin up there
  if (read.at < first.read_from || !(read.girth * least(first.taper, Math.max(tie - read.at, 0)) >= first.least_girth)) return { outside: say("first-read") };
  if (height > first.slender * read.girth) return { outside: say("first-slim") };
  const girth = read.girth - first.loses * Math.max(first.breast - read.at, 0);
  const { kind: place, wood, palm } = kindOf(tree.species);
  if (palm) return { outside: say("first-palm") };
  const how = first.height_how[tree.height_how ?? "unknown"], kind = (place * first.moments.length + read.how) * first.height_hows + how;
  const upright = between(first.moments[read.how], [[first.sizes, girth, "high"], [first.heights, Math.min(height, first.cap * girth), "high"]]);
  const arm = between(first.arms, [[first.girths, girth, "high"], [first.ties, tie, "low"]]);
  const soil = first.soils[tree.ground?.wetness ?? "unknown"];
  if (upright === undefined || arm === undefined) return { outside: say("first-sizes") };
  const moment = upright * Math.exp(first.step * (first.kinds[kind] + soil)) * (height < 0.995 * first.cap * girth ? 1 : first.capped[read.how]), lean = Math.abs(siOf(tree, "slope", "lean") ?? 0);
  const own = lean ? lean * between(first.lean, [[first.sizes, girth, "high"], [first.heights, height]]) : 0;
  const stem = between(first.stems[read.how], [[first.sizes, girth, "high"]]) * Math.exp(first.wood_step * wood), leans = own / moment;
  if (!(Math.max(leans, own / stem) <= first.shares.at(-1))) return { outside: say("first-lean") };
  const left = (share) => straight(first.shares.map((one, at) => [one, first.leaning[at]]), share);
  return { carries: Math.min((moment * left(leans)) / arm, (stem * left(own / stem)) / Math.max(tie - first.low, 0.01)), leans: Math.max(leans, own / stem), strange: !knownKind(tree) && tree.species?.name?.trim(), windy: soil < 0 || height > first.windy * read.girth };
}

/** What a line pulls at most [N], or why there is no number: {pulls}, {lacks} or {outside}. */
function pullsOf(line) {
  const ties = ["a", "b"].map((end) => siOf(line[end], "length", "tie_height"));
  const people = Number(line.walkers?.at_once ?? 1), mass = siOf(line.walkers, "mass", "mass") ?? first.unnamed;
  const taped = siOf(line.span, "length", "taped"), slope = siOf(line.span, "slope", "slope") ?? 0;
  if (filled(line.a?.anchor) && line.a.anchor === line.b?.anchor) return { outside: say("same-anchor") };
  if (isFaulty("Line", line)) return { outside: say("first-fault") };
  if (!line.use) return { lacks: "use" };
  if (taped === undefined) return { lacks: "span" };
  if (Math.abs(slope) > 3 || (line.span.along === "slope" && !filled(line.span.slope))) return { outside: say("first-slope") };
  if (people !== 1 || line.sections?.length) return { outside: say("first-line") };
  const span = taped * Math.cos((slope * Math.PI) / 180);
  if (line.use === "hammock") return hammockPulls(line, span, ties, mass);
  if (!["low line", "trick line", "long line"].includes(line.use)) return { outside: say("first-use") };
  const ea = stiffnessOf(line.webbing);
  if (ea === undefined) return isTold(line.webbing) ? { outside: say("first-line") } : { lacks: "webbing" };
  const rise = ties.every(filled) ? ties[1] - ties[0] : 0, walker = mass * first.gravity, tension = standingOf(line, span, ea);
  if (tension === undefined) return { lacks: "standing tension" };
  const moved = line.walkers?.movement === "walk only, no bouncing" ? 0 : line.use === "trick line" ? 2 : 1;
  // ground that was taped is weighed by the program; here what nobody spoke of, which pulls no less
  const level = line.ground_between === "level or rising, no dip" && ![line.ground, line.ground_below].some((rows) => rows?.length) && !filled(line.open_below);
  const tie = level ? Math.max(...ties.map((one) => one ?? Infinity)) : Infinity;
  const axes = [[first.spans, span], [first.stiff, ea / walker, "low"], [first.tight, tension / walker, "low"]];
  const free = between(first.free[moved], axes), known = level && tie <= first.grounds.at(-1) && span >= first.spans[1] && first.held[moved];
  const pulls = free && free * (known ? Math.min(1, between(known, [[first.spans.slice(1), span], ...axes.slice(1), [first.grounds, tie, "low"]]) * first.over_held * (1 + 0.03 * Math.max(Math.abs(rise) - 0.5, 0))) : 1);
  // a line slacker than the table's least is weighed as if it stood at that
  const least = first.tight[0] * walker, slack = tension < least ? { least } : {};
  return pulls === undefined ? { outside: say("first-line") } : { pulls: pulls * walker, ...slack };
}

function hammockPulls(line, span, ties, mass) {
  if (filled(line.standing?.tension) || filled(line.standing?.sag)) return { outside: say("first-line") };
  if (ties.some((tie) => tie === undefined)) return { lacks: "tie height" };
  // of straps nobody named, or of a class, the table holds the worst
  if (stiffnessOf(line.webbing) < first.stiff[0] * mass * first.gravity || Math.min(...ties) < first.hang_from || Math.abs(ties[0] - ties[1]) > first.level_ties) return { outside: say("first-line") };
  const pulls = between(first.hammocks, [[first.hung, span, "low"], [first.grounds, Math.min(...ties), "high"]]);
  return pulls === undefined ? { outside: say("first-line") } : { pulls: pulls * mass * first.gravity };
}

/** EA of a webbing [N]: its own, or that of its class in the width that was taped; undefined where neither tells. */
function stiffnessOf(webbing) {
  const own = siOf(webbing, "force", "stiffness"), at = form.webbing.findIndex((name) => knownKey(name) === knownKey(webbing?.kind ?? ""));
  if (webbing?.stretch?.length || own !== undefined || at < 0) return webbing?.stretch?.length ? undefined : own;
  const [ea, fibre, usual] = first.ea[first.classes[at]], width = siOf(webbing, "length", "width") ?? usual;
  const alike = (other) => Math.abs(width / other - 1) <= first.widths_differ, over = width / usual;
  if (alike(usual)) return ea ?? undefined;
  const [taken] = first.ea.filter(([, of, wide]) => of === fibre && alike(wide));
  if (taken) return taken[0] ?? undefined;
  return ea && over <= first.widths_far && over >= 1 / first.widths_far ? over * ea : undefined;
}

/** The tension a line stands at [N]: as said, or by its sag under a known walker. */
function standingOf(line, span, ea) {
  const said = siOf(line.standing, "force", "tension"), sag = siOf(line.standing, "length", "sag"), under = siOf(line.standing, "mass", "sag_under");
  if (said !== undefined || sag === undefined || under === undefined) return said;
  const of = between(first.sags, [[first.sagging, sag / span], [first.stiff, ea / (under * first.gravity)]]);
  return of === undefined ? undefined : of * under * first.gravity;
}

/** The first word for a line: of each end what it carries or why not, what the line pulls, and what to look at next. */
function firstWord(line, anchors = state.record.anchors, every = state.record.lines) {
  const ends = ["a", "b"].map((end) => {
    const tree = anchors.find((anchor) => anchor.code === line[end]?.anchor);
    const lines = every.filter((one) => [one.a?.anchor, one.b?.anchor].includes(tree?.code)), code = line[end]?.anchor;
    if (tree) return { code, ...carriesOf(tree, line[end], lines, anchors) };
    return filled(code) ? { code, outside: say("no-such-anchor", { code }) } : { lacks: "anchors" };
  });
  const pull = pullsOf(line);
  // a leaning tree is in use before anything pulls
  return { ...pull, ends: ends.map((end) => ({ ...end, use: (1 + 0.2 * end.leans) * (end.leans + (1 - end.leans) * (pull.pulls / end.carries)) })) };
}

// ---- in words: never kinder by a figure, so what is carried is rounded down and what pulls up

/** A pull in the unit the form offers first, two figures. */
function pullSaid(newton, up) {
  const { unit } = fieldOf("Standing", "tension"), number = newton / form.units.force[unit];
  const step = 10 ** (Math.floor(Math.log10(number)) - 1), figure = (up ? Math.ceil : Math.floor)(number / step - (up ? 1e-9 : -1e-9)) * step;
  return `${figure.toFixed(Math.max(0, -Math.log10(step)))}\u00a0${unit}`.replace(".", say("decimal-mark"));
}
function girthSaid(metres, up) {
  const { unit } = fieldOf("TrunkReading", "girth"), number = metres / form.units.length[unit];
  return `${up ? Math.ceil(number - 1e-9) : Math.floor(number + 1e-9)}\u00a0${unit}`;
}

// a phone's keyboard leaves room for a row an end, and for no more
const BRIEF_UNDER = 500, NEARLY_ALL = 0.9; // pixels of height; from this share on rounded figures may stand the other way
const isBrief = () => (globalThis.visualViewport ? visualViewport.height * visualViewport.scale : innerHeight) < BRIEF_UNDER;

/** What is said of one end, the worse the higher its rank; `pulls` is undefined where it is not known. */
function endSays({ code, carries, stop, thin, outside, tie, use, windy, strange }, pulls, brief) {
  const tree = code ?? "?", wordings = (whole, short) => (brief ? short : whole);
  if (stop) return { rank: 5, text: say("first-stop", { tree, sign: thingWords(`stop sign: ${form.deciding.signs[stop]}`) }) };
  if (thin) return { rank: 4, text: say(wordings("first-thin", "first-thin-brief"), { tree, girth: girthSaid(thin), least: girthSaid(first.least_girth, true) }) };
  if (outside) return { rank: 2, text: [say("first-none", { tree, why: outside }), brief ? "" : say("first-whole")].join(" ").trim() };
  if (carries === undefined) return { rank: 0, text: "" };
  const told = { tree, carries: pullSaid(carries), pulls: pulls && pullSaid(pulls, true), tie };
  const share = { share: 100 * first.trial_from };
  let rank = 0, then = windy && wordings("first-wind", "first-wind-brief");
  if (pulls && use > 1) [rank, then] = [3, wordings("first-over", "first-over-brief")];
  else if (pulls && use > NEARLY_ALL) [rank, then] = [1, wordings("first-all", "first-all-brief")];
  else if (pulls && use > first.trial_from) [rank, then] = [1, wordings("first-watch", "first-watch-brief")];
  const said = say(pulls === undefined ? "first-alone" : wordings("first-carries", "first-carries-brief"), told);
  const kind = strange && !brief && say("first-strange", { name: strange.slice(0, 40) });
  return { rank: rank + Math.min(use || 0, 9) / 10, text: [said, then && say(then, share), kind].filter(Boolean).join(brief ? say("between") : " ") };
}

/** The first word of a tree or a line, as sentences, the worse end first; none before anything was said of either. */
function firstSays(item, part, brief) {
  if (part !== "Line") {
    const lines = state.record.lines.filter((line) => [line.a?.anchor, line.b?.anchor].includes(item.code));
    const end = lines.flatMap(({ a, b }) => [a, b]).find((one) => one?.anchor === item.code && filled(one.tie_height)) ?? { tie_height: first.usual_tie };
    return [endSays({ code: item.code, ...carriesOf(item, end, lines), tie: end.tie_height }, undefined, brief).text];
  }
  const { ends, pulls, outside, least } = firstWord(item);
  const said = ends.map((end, at) => endSays({ ...end, tie: item[at ? "b" : "a"]?.tie_height }, pulls, brief));
  return [...said.sort((one, other) => other.rank - one.rank).map(({ text }) => text),
    outside ? endSays({ code: item.id, outside }, pulls, brief).text : pulls && !ends.some((end) => end.carries) ? say("first-pulls", { pulls: pullSaid(pulls, true) }) : "",
    least && !brief ? say("first-slack", { least: pullSaid(least) }) : ""];
}

/** What to look at next: stop signs before all, then the kind of tree, without which nothing is judged, then what a number needs. */
function nextOf(item, part) {
  const trees = part === "Line" ? ["a", "b"].map((end) => state.record.anchors.find((one) => one.code === item[end]?.anchor)).filter(Boolean) : [item];
  const missing = trees.flatMap((tree) => decidingOf(tree).missing), signs = missing.filter((thing) => thing.startsWith("stop sign: ")).length;
  const { lacks, ends } = part === "Line" ? firstWord(item) : { ends: [carriesOf(item, { tie_height: first.usual_tie })] };
  const KIND = "species or leaf type", needed = [...(missing.includes(KIND) ? [KIND] : []), ...ends.map((end) => end.lacks), lacks];
  const things = [...new Set(needed)].filter((thing) => form.deciding.things.includes(thing)).map(thingWords);
  return [...(signs ? [say("signs-missing", { count: signs })] : []), ...things].slice(0, 3);
}

function showFirst(node, item, part) {
  if (!item || (part !== "Line" && item.kind !== "tree")) return;
  const brief = isBrief(), said = firstSays(item, part, brief).filter(Boolean), next = brief ? [] : nextOf(item, part);
  const texts = [...said, ...(said.length && next.length ? [say("first-next", { things: next.join(say("between")) })] : [])];
  const not = brief ? "" : say("first-not");
  if (node.textContent === [texts.length ? say("first-title") : "", ...texts, texts.length ? not : ""].join("")) return;
  node.replaceChildren(...(texts.length ? [el("strong", {}, say("first-title")), ...texts.map((text) => el("p", {}, text)), ...(not ? [el("p", { class: "soft" }, not)] : [])] : []));
}

// what the box covers is no place for a field: the page keeps as much free above whatever gets the focus
const boxes = new ResizeObserver(() => {
  const tall = Math.max(0, ...[...document.querySelectorAll(".first")].map((box) => box.offsetHeight));
  document.documentElement.style.scrollPaddingTop = tall && !document.querySelector("#keeping.stays") ? `${tall + 12}px` : "";
});
globalThis.visualViewport?.addEventListener("resize", () => refreshSoon());
