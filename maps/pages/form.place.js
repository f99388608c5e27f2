// Position from the phone, averaged; and how two anchors lie to each other.
const TAKE_SECONDS = 20, ENOUGH_FIXES = 10;

/** Several readings of the phone's position as one fix, or nothing; says what it is doing. */
function takeFix(status) {
  if (!navigator.geolocation) {
    status.textContent = say("no-geolocation");
    return Promise.resolve(undefined);
  }
  status.textContent = say("taking", { count: 0 });
  return new Promise((done) => {
    const taken = [];
    let watch = 0;
    const finish = () => {
      navigator.geolocation.clearWatch(watch);
      clearTimeout(limit);
      const fix = meanFix(taken);
      status.textContent = fix ? say("taken", { count: taken.length, accuracy: fix.accuracy }) : say("no-fix");
      done(fix);
    };
    const limit = setTimeout(finish, TAKE_SECONDS * 1000);
    watch = navigator.geolocation.watchPosition(({ coords }) => {
      taken.push(coords);
      status.textContent = say("taking", { count: taken.length });
      if (taken.length >= ENOUGH_FIXES) finish();
    }, (error) => {
      if (error.code === 1) {
        navigator.geolocation.clearWatch(watch);
        clearTimeout(limit);
        status.textContent = say("position-refused");
        done(undefined);
      }
    }, { enableHighAccuracy: true, maximumAge: 0, timeout: TAKE_SECONDS * 1000 });
  });
}

/** Mean by weight of the stated accuracies. The mean is said to be no better than the middle of those: readings of one
 *  minute share their error, so that counting them as independent would promise too much. */
function meanFix(taken) {
  if (!taken.length) return undefined;
  const weights = taken.map(({ accuracy }) => 1 / Math.max(accuracy, 0.5) ** 2);
  const all = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = (name) => taken.reduce((sum, one, index) => sum + one[name] * weights[index], 0) / all;
  const sorted = taken.map(({ accuracy }) => accuracy).sort((one, other) => one - other);
  const accuracy = sorted[Math.floor(sorted.length / 2)];
  // the browser's own definition: a radius that holds the true place in 95 readings of 100
  return { lat: mean("latitude").toFixed(7), lon: mean("longitude").toFixed(7), accuracy: `${Math.max(1, Math.round(accuracy))} m`, accuracy_means: "95 %", how: "phone" };
}

function positionTaking(path) {
  const status = el("p", { class: "soft", role: "status" });
  const take = button(say("take-position"), async () => {
    const place = staying(path); // others may come before it or go meanwhile, here or in another tab
    const fix = await takeFix(status);
    if (!fix) return;
    const where = place();
    if (!where) return alert(say("taken-for-nothing"));
    const box = take.closest("[data-path]");
    const said = status.textContent;
    put([...where, "fixes"], [...(at([...where, "fixes"]) ?? []), fix]);
    if (!take.isConnected) return drawInPlace();
    const field = { kind: "part", parts: ["Position"], ask: box.querySelector("legend, summary").textContent, quick: 1 };
    const drawn = drawBlock(field, path);
    box.replaceWith(drawn);
    drawn.querySelector("[role=status]").textContent = said;
    refreshSoon();
  }, { class: "take" });
  const mean = alive(el("p", { class: "soft" }), (line) => {
    const place = placeOfAnchor({ position: at(path) });
    line.textContent = place && place.count > 1 ? say("mean-of", { count: place.count, lat: place.lat.toFixed(6), lon: place.lon.toFixed(6) }) : "";
  });
  return [take, status, mean];
}
/** Mean of an anchor's typed fixes, weighted by their accuracy; nothing where there is none in degrees. */
function placeOfAnchor(anchor) {
  const fixes = (anchor?.position?.fixes ?? []).map((fix) => ({
    lat: numberOf(fix.lat), lon: numberOf(fix.lon), accuracy: siOf(fix, "length", "accuracy"),
  })).filter((fix) => fix.lat !== undefined && fix.lon !== undefined && Math.abs(fix.lat) <= 90 && Math.abs(fix.lon) <= 180);
  if (!fixes.length) return undefined;
  const weigh = fixes.every((fix) => fix.accuracy > 0);
  const weights = fixes.map((fix) => (weigh ? fix.accuracy ** -2 : 1));
  const all = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = (name) => fixes.reduce((sum, fix, index) => sum + fix[name] * weights[index], 0) / all;
  return { lat: mean("lat"), lon: mean("lon"), accuracy: weigh ? Math.min(...fixes.map((fix) => fix.accuracy)) : undefined, count: fixes.length };
}

/** What positions, tape and compass say of one pair, as sentences. */
function pairSays(line) {
  const anchors = ["a", "b"].map((end) => (state.record.anchors ?? []).find((anchor) => anchor.code === line[end]?.anchor));
  const [a, b] = anchors.map(placeOfAnchor);
  if (!a || !b) return [say("pair-needs")];
  const { distance, bearing } = course(a, b);
  if (distance < 0.001) return [say("pair-same")];
  const values = { distance: inWords(distance), out: threeFigures(bearing), back: threeFigures(bearing + 180) };
  return [say("pair-lies", values), tapeSays(line, distance, a, b), compassSays(line, bearing)].filter(Boolean);
}

const inWords = (metres) => bothLengths(metres, say("decimal-mark"), form.units.length.ft);

function tapeSays(line, distance, a, b) {
  const taped = siOf(line.span, "length", "taped");
  if (taped === undefined) return "";
  const slope = line.span.along === "slope" ? siOf(line.span, "slope", "slope") ?? 0 : 0;
  const off = taped * Math.cos((slope * Math.PI) / 180) - distance;
  const allowed = a.accuracy && b.accuracy ? say("pair-accuracy", { sum: inWords(Math.hypot(a.accuracy, b.accuracy)) }) : "";
  return [say(off < 0 ? "tape-shorter" : "tape-longer", { off: inWords(Math.abs(off)) }), allowed].filter(Boolean).join(" ");
}

function compassSays(line, bearing) {
  const out = siOf(line.compass, "bearing", "out"), back = siOf(line.compass, "bearing", "back");
  const read = out ?? (back === undefined ? undefined : (back + 180) % 360);
  if (read === undefined) return "";
  const off = ((read - bearing + 540) % 360) - 180;
  const north = line.compass.north ?? "magnetic";
  return say(north === "true" ? "compass-off-true" : "compass-off-other", { off: Math.abs(off).toFixed(0), north: choiceWord(north), side: say(off < 0 ? "to-left" : "to-right") });
}

function pairPanel(path) {
  const box = el("div", { class: "panel", role: "status" });
  return alive(box, () => {
    const said = pairSays(at(path) ?? {});
    if (box.textContent !== said.join("")) box.replaceChildren(el("h4", {}, say("pair-title")), ...said.map((text) => el("p", {}, text)));
  });
}
