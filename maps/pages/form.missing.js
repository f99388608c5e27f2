// What the program needs before it can say more than "cannot say": the published list, held against what was typed.
const knownKey = (name) => name.toLowerCase().normalize("NFKD").replace(/\p{M}/gu, "").replace(/ß/g, "ss").replace(/[^a-z0-9]+/g, "").replace(/(.)tree$/, "$1");
const genusOf = (name) => name.split(" ")[0];
const namedBy = new Map(); // the kinds of tree a common name stands for
for (const { name, common, others } of form.species) {
  for (const one of [...common, ...others].filter(Boolean)) namedBy.set(knownKey(one), new Set(namedBy.get(knownKey(one))).add(genusOf(name)));
}
// a name that trees of several genera share tells the program none of them
const knownTrees = new Set([...form.species.flatMap(({ name }) => [knownKey(name), knownKey(genusOf(name))]), ...[...namedBy].filter(([, genera]) => genera.size === 1).map(([key]) => key)]);
const knownWebbing = new Set(form.webbing.map(knownKey));
const unanswered = (value, nothing = "unknown") => !filled(value) || value === nothing;

const TREE_LACKS = {
  "position": (tree) => !tree.position?.fixes?.length && !tree.position?.ties?.length,
  "species or leaf type": (tree) => unanswered(tree.species?.leaf_type) && !knownTrees.has(knownKey(tree.species?.name ?? "")),
  "trunk size": (tree) => !(tree.trunk ?? []).some((reading) => ["girth", "diameter"].some((name) => siOf(reading, "length", name) > 0)) && !stemsGiven(tree),
  "tree height": (tree) => !filled(tree.height),
  "stems and forks": (tree) => unanswered(tree.stems),
  "lean": (tree) => !filled(tree.lean),
  "slope": (tree) => !filled(tree.ground?.slope),
  "soil wetness": (tree) => unanswered(tree.ground?.wetness),
  "roots by sector": (tree) => form.sectors.some((sector) => unanswered(tree.roots?.[sector], "not looked")),
  "kerbs and digging near": (tree) => !(tree.hard_edge_near === "no" || (tree.hard_edge_near === "yes" && tree.hard_edges?.length)),
  "bark form": (tree) => unanswered(tree.bark?.form),
};
const stemsGiven = (tree) => tree.stems === "several" && (tree.each_stem ?? []).length > 1;

const LINE_LACKS = {
  "tie height": (line, end) => !filled(line[end]?.tie_height),
  "span": (line) => !filled(line.span?.taped),
  "webbing": (line) => line.use !== "hammock" && webbingUnknown(line),
  "standing tension": (line) => line.use !== "hammock" && !filled(line.standing?.tension) && !sagTells(line),
  "walker": (line) => !filled(line.walkers?.mass),
  "leash": (line) => line.use === "high line" && !filled(line.walkers?.leash),
  "backup": (line) => line.use === "high line" && unanswered(line.backup),
};

function webbingUnknown(line) {
  const pieces = line.sections?.length ? line.sections : [line.webbing ?? {}];
  return pieces.some((piece) => !filled(piece.stiffness) && !piece.stretch?.length && !knownWebbing.has(knownKey(piece.kind ?? "")));
}

/** A sag gives the tension only where span and webbing are known. */
const sagTells = (line) => filled(line.standing?.sag) && filled(line.span?.taped) && !webbingUnknown(line);

const BOULDER_LACKS = {
  "position": (boulder) => !boulder.position,
  "three sizes": (boulder) => ["along_pull", "across_pull", "upright"].some((name) => !filled(boulder[name])),
  "rock": (boulder) => unanswered(boulder.rock),
  "bed": (boulder) => unanswered(boulder.bed),
  "slope": (boulder) => !filled(boulder.slope),
  "downhill direction": (boulder) => siOf(boulder, "slope", "slope") !== undefined && siOf(boulder, "slope", "slope") !== 0 && !filled(boulder.downhill),
  "distance to an edge": (boulder) => !filled(boulder.edge_distance),
  "embedding": (boulder) => unanswered(boulder.embedded),
  "moves when pushed": (boulder) => unanswered(boulder.rocks_when_pushed, "not looked"),
  "cracks": (boulder) => unanswered(boulder.cracked, "not looked"),
  "stop sign: posted prohibition": (boulder) => unanswered(boulder.posted_no, "not looked"),
};

/** Whether the answer to one deciding thing is still missing from an anchor or its end of a line. */
function lacks(thing, anchor, line, end) {
  if (anchor.kind === "boulder" && thing in BOULDER_LACKS) return BOULDER_LACKS[thing](anchor);
  const sign = Object.keys(form.deciding.signs).find((name) => `stop sign: ${form.deciding.signs[name]}` === thing);
  if (sign) return unanswered(anchor.signs?.[sign], "not looked");
  if (anchor.kind === "tree" && thing in TREE_LACKS) return TREE_LACKS[thing](anchor);
  return Boolean(line) && LINE_LACKS[thing](line, end);
}

/** The deciding things of an anchor, for a line's end or by itself: how many, and which are missing. */
function decidingOf(anchor, line, end) {
  const lists = { tree: form.deciding.by_use, boulder: form.deciding.boulder }[anchor.kind];
  if (!lists) return { count: 0, missing: [] }; // of a kind that is not judged
  const all = (lists[line?.use] ?? lists["low line"]).map((index) => form.deciding.things[index]);
  const things = line ? all : all.filter((thing) => !(thing in LINE_LACKS));
  return { count: things.length, missing: things.filter((thing) => lacks(thing, anchor, line, end)) };
}
