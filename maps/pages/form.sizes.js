// Slips in a tree's sizes, by the limits of the program: girth for diameter, inches for centimetres, unlike readings.
const INCHES = ["in", "inch", "inches"];
const doubt = (path, says, likelier = "", wouldBe = "") => ({ path, says, likelier, wouldBe });

function* sizeDoubts(tree, path) {
  const sizes = (tree.trunk ?? []).map((reading, index) => sizeOf(reading, [...path, "trunk", index])).filter(Boolean);
  const pairs = sizes.flatMap((one, index) => sizes.slice(index + 1).map((other) => [one, other]));
  const told = pairs.map(([one, other]) => factorBetween(one, other)).filter(Boolean);
  yield* told;
  if (!told.length) yield* pairs.map(([one, other]) => unlike(one, other)).filter(Boolean);
  for (const size of sizes) {
    if (!told.some((found) => samePath(found.path, size.path))) yield* shapeDoubts(size, tree, path);
  }
}

const samePath = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/** A trunk reading as a diameter; nothing where it cannot be read. */
function sizeOf(reading, path) {
  const name = filled(reading.girth) ? "girth" : "diameter";
  const read = filled(reading[name]) && readQuantity(reading[name], "length");
  if (!read || read.si === undefined || !(read.si > 0)) return undefined;
  const isGirth = name === "girth";
  return {
    path: [...path, name], name, isGirth, text: reading[name], number: read.number, unit: read.unit, si: read.si,
    diameter: isGirth ? read.si / Math.PI : read.si, at: siOf(reading, "length", "read_at"),
  };
}

const asTyped = (size) => `${say(size.name)} ${size.text}`;

/** What else the typed number may have meant. */
function slipsOf(size) {
  const found = [];
  if (size.isGirth) {
    found.push({ likelier: say("slip-diameter-as-girth"), diameter: size.si, wouldBe: `${say("diameter")} ${size.text}` });
  } else {
    const diameter = size.si / Math.PI;
    found.push({ likelier: say("slip-girth-as-diameter"), diameter, wouldBe: `${say("girth")} ${size.text}, ${say("thick", { size: cm(diameter) })}` });
  }
  if (INCHES.includes(size.unit)) {
    found.push({ likelier: say("slip-cm-as-inches"), diameter: size.diameter / 2.54, wouldBe: `${say(size.name)} ${size.number} cm` });
  }
  if (size.unit === "cm") {
    found.push({ likelier: say("slip-inches-as-cm"), diameter: size.diameter * 2.54, wouldBe: `${say(size.name)} ${size.number} in` });
  }
  return found;
}

/** Two readings of a trunk a factor of pi or 2.54 apart: the one that slipped, as far as what was typed tells. */
function factorBetween(one, other) {
  const [big, small] = one.diameter >= other.diameter ? [one, other] : [other, one];
  const ratio = big.diameter / small.diameter;
  for (const [size, wanted] of [[big, small.diameter], [small, big.diameter]]) {
    for (const slip of slipsOf(size)) {
      const factor = Math.max(slip.diameter / size.diameter, size.diameter / slip.diameter);
      const mends = Math.abs(Math.log(slip.diameter / wanted)) < LIMIT.SLIP_TOLERANCE;
      if (mends && Math.abs(Math.log(ratio / factor)) < LIMIT.SLIP_TOLERANCE) {
        const says = say("out-of-step", { typed: asTyped(size), ratio: Number(ratio.toPrecision(2)) });
        return doubt(size.path, says, slip.likelier, slip.wouldBe);
      }
    }
  }
  return undefined;
}

function unlike(one, other) {
  if (one.at === undefined || other.at === undefined) return undefined;
  const [low, high] = one.at <= other.at ? [one, other] : [other, one];
  const apart = high.at - low.at;
  const ratio = Math.max(low.diameter, high.diameter) / Math.min(low.diameter, high.diameter);
  if (apart < LIMIT.SAME_HEIGHT_M) {
    if (ratio <= LIMIT.SAME_PLACE_RATIO) return undefined;
    const says = say("differ", { one: asTyped(high), other: asTyped(low), share: (100 * (ratio - 1)).toFixed(0) });
    return doubt(high.path, says, say("tape-again"));
  }
  if (high.diameter > LIMIT.UPWARD_RATIO * low.diameter) {
    const says = say("grows-upward", { low: cm(low.diameter), at: low.at, high: cm(high.diameter), above: high.at });
    return doubt(high.path, says, say("slip-heights-swapped"));
  }
  const allowed = LIMIT.STEEPEST_TAPER * apart + (LIMIT.SAME_PLACE_RATIO - 1) * high.diameter;
  if (low.at >= LIMIT.FLARE_TOP_M && low.diameter - high.diameter > allowed) {
    const says = say("tapers", { loss: cm(low.diameter - high.diameter), apart: Number(apart.toPrecision(2)), most: cm(LIMIT.STEEPEST_TAPER) });
    return doubt(high.path, says, say("slip-one-misread"));
  }
  return undefined;
}

function* shapeDoubts(size, tree, path) {
  const height = siOf(tree, "length", "height");
  if (height === undefined) {
    yield* largeWithoutHeight(size);
    return;
  }
  const slender = height / size.diameter;
  const values = { height: tree.height, times: slender.toFixed(0), thick: cm(size.diameter), most: LIMIT.SLENDER_H_OVER_D };
  if (slender > LIMIT.SLENDER_H_OVER_D) yield shapeDoubt(size, say("too-slender", values), tree, height, path);
  else if (slender < leastSlenderness(size)) yield shapeDoubt(size, say("too-squat", values), tree, height, path);
}

function leastSlenderness(size) {
  // a girth taken for a diameter, or centimetres for inches, make a trunk too thick, and so flatter it
  const flatters = !size.isGirth || INCHES.includes(size.unit);
  return flatters && size.diameter > LIMIT.LARGE_DIAMETER_M ? LIMIT.SQUAT_LARGE_H_OVER_D : LIMIT.SQUAT_H_OVER_D;
}

function* largeWithoutHeight(size) {
  const large = !size.isGirth && size.diameter > LIMIT.LARGE_DIAMETER_M;
  const inches = size.isGirth && INCHES.includes(size.unit) && size.si > LIMIT.LARGE_GIRTH_IN_INCHES_M;
  if (!large && !inches) return;
  const slip = slipsOf(size)[large ? 0 : 1];
  yield doubt(size.path, say("very-thick", { typed: asTyped(size) }), slip.likelier, slip.wouldBe);
}

/** The slips that would give the tree a usual shape, the most usual first. */
function shapeDoubt(size, says, tree, height, path) {
  const usual = (diameter) => height / diameter >= LIMIT.SQUAT_H_OVER_D && height / diameter <= LIMIT.SLENDER_H_OVER_D;
  const far = (slip) => Math.abs(Math.log(height / slip.diameter / LIMIT.USUAL_H_OVER_D));
  const fits = slipsOf(size).filter((slip) => usual(slip.diameter)).sort((one, other) => far(one) - far(other));
  const feet = heightInFeet(tree, size.diameter);
  if (fits.length) return doubt(size.path, says, fits[0].likelier, fits[0].wouldBe);
  if (feet) return doubt([...path, "height"], says, say("slip-feet-as-metres"), feet);
  return doubt(size.path, says, say("check-both"));
}

/** The height as feet, if it was typed in metres and feet would fit the trunk. */
function heightInFeet(tree, diameter) {
  const read = readQuantity(tree.height, "length");
  if (read.unit !== "m") return "";
  const slender = (0.3048 * read.si) / diameter;
  if (slender < LIMIT.SQUAT_H_OVER_D || slender > LIMIT.SLENDER_H_OVER_D) return "";
  return `${read.number} ft (${show(0.3048 * read.si, "m")})`;
}
