/* Draws the site on the map. Every text of a record is set as text, never as markup. */
"use strict";
function drawSite(map, site) {
  const SVG = "http://www.w3.org/2000/svg";
  const byId = (id) => document.getElementById(id);
  const layers = {};
  for (const box of document.querySelectorAll("input[data-layer]")) {
    layers[box.dataset.layer] = L.layerGroup();
    if (box.checked) { layers[box.dataset.layer].addTo(map); }
  }
  ["surroundings", "zones", "lines"].forEach((name, i) => { map.createPane(name).style.zIndex = 410 + 10 * i; });

  const onGround = ({ lat, lng }) => ({ lat: lat, lon: lng }), degrees = (bearing) => threeFigures(bearing) + "°";
  function courseWords(a, b) {
    const way = course(onGround(a), onGround(b)), words = bothLengths(way.distance, site.texts["decimal-mark"], site.foot_m);
    if (way.distance < 0.05) { return words; }
    const known = site.declination_deg !== null, turned = (way.bearing - (site.declination_deg || 0) + 360) % 360;
    return words + ", " + site.texts[known ? "map-js-course-magnetic" : "map-js-course"].replace("{true}", degrees(way.bearing))
      .replace("{magnetic}", degrees(turned)).replace("{back}", degrees((way.bearing + 180) % 360));
  }

  function element(tag, text, className) {
    const made = document.createElement(tag);
    if (text !== undefined) { made.textContent = text; }
    if (className) { made.className = className; }
    return made;
  }
  function picture(shape, fill, size) {
    const svg = document.createElementNS(SVG, "svg");
    svg.setAttribute("viewBox", "0 0 24 24");
    svg.setAttribute("width", size);
    svg.setAttribute("height", size);
    svg.setAttribute("aria-hidden", "true");
    for (const part of site.symbols[shape]) {
      const path = document.createElementNS(SVG, "path");
      path.setAttribute("d", part.d);
      path.setAttribute("fill", part.paint === "fill" ? fill : (site.colours[part.paint] || "none"));
      path.setAttribute("stroke", site.colours[part.line] || "none");
      path.setAttribute("stroke-width", "1.8");
      path.setAttribute("stroke-linejoin", "round");
      svg.appendChild(path);
    }
    return svg;
  }
  function marker(place, shape, fill, size, name, onPick, over = 0) {
    const wide = onPick ? 44 : size; // what a finger is to hit
    const icon = L.divIcon({ className: "spot", html: picture(shape, fill, size), iconSize: [wide, wide] });
    const made = L.marker(place, { icon: icon, keyboard: Boolean(onPick), interactive: Boolean(onPick), zIndexOffset: over });
    made.on("add", () => {
      const node = made.getElement();
      if (onPick) { node.setAttribute("aria-label", name); } else { node.setAttribute("role", "img"); node.setAttribute("aria-label", name); }
    });
    if (onPick) {
      made.on("click", (e) => onPick(nearestTo(map.mouseEventToContainerPoint(e.originalEvent))));
      made.on("keydown", (e) => {
        if (e.originalEvent.key === "Enter" || e.originalEvent.key === " ") { e.originalEvent.preventDefault(); onPick(); }
      });
    }
    return made;
  }

  // Hatching for hazards: one pattern in the map's own drawing.
  function hatch() {
    const root = map.getPane("surroundings").querySelector("svg");
    if (!root || root.querySelector("pattern")) { return; }
    const defs = document.createElementNS(SVG, "defs"), pattern = document.createElementNS(SVG, "pattern");
    const stroke = document.createElementNS(SVG, "path");
    for (const [key, value] of Object.entries({ id: "hatch", width: 9, height: 9, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" })) {
      pattern.setAttribute(key, value);
    }
    stroke.setAttribute("d", "M 0 0 L 0 9");
    stroke.setAttribute("stroke", "#D55E00");
    stroke.setAttribute("stroke-width", "4");
    pattern.appendChild(stroke);
    defs.appendChild(pattern);
    root.insertBefore(defs, root.firstChild);
  }
  const widened = [], marksOnMap = [];
  function metresToPixels(metres) {
    const middle = map.getCenter(), size = map.getSize();
    const left = map.containerPointToLatLng([0, size.y / 2]), right = map.containerPointToLatLng([size.x, size.y / 2]);
    return metres * size.x / course(onGround(left), onGround(right)).distance;
  }
  function drawSurroundings() {
    const renderer = L.svg({ pane: "surroundings", padding: 1 });
    for (const thing of site.surroundings.filter((one) => one.points.length)) {
      const how = site.features[thing.kind];
      const name = thing.kind_words + (thing.name ? site.texts.colon + " " + thing.name : "");
      if (how.symbol || thing.points.length === 1) {
        const mark = marker(thing.points[0], how.symbol || "small_dot", "#F0E442", 26, name).addTo(layers.surroundings);
        if (thing.kind === "emergency point") { mark.setZIndexOffset(500); }
        marksOnMap.push(L.latLng(thing.points[0]));
        label(thing.points[0], [thing.name || thing.kind_words], "linelabel", 15, thing.kind === "emergency point" ? 9 : 10);
        continue;
      }
      const filled = thing.closed && how.fill !== "none";
      const options = {
        renderer: renderer, pane: "surroundings", interactive: false, color: how.stroke, weight: 2,
        dashArray: how.dash || null, fill: filled, fillColor: how.fill === "hatch" ? "url(#hatch)" : how.fill, fillOpacity: 1,
      };
      const drawn = thing.closed ? L.polygon(thing.points, options) : L.polyline(thing.points, options);
      drawn.addTo(layers.surroundings);
      if (!thing.closed && !how.dash) {
        const metres = thing.width_m || how.width_m;
        drawn.setStyle({ color: how.fill === "none" ? how.stroke : how.fill });
        const edge = L.polyline(thing.points, { ...options, color: how.stroke }).addTo(layers.surroundings);
        edge.bringToBack();
        widened.push(() => {
          const wide = Math.max(3, metresToPixels(metres));
          drawn.setStyle({ weight: wide });
          edge.setStyle({ weight: wide + 3 });
        });
      }
      const middle = drawn.getBounds().getCenter();
      const middles = thing.points.slice(1).map((end, i) => [(end[0] + thing.points[i][0]) / 2, (end[1] + thing.points[i][1]) / 2]);
      const bounds = drawn.getBounds(), edges = [[bounds.getNorth(), middle.lng], [bounds.getSouth(), middle.lng], [middle.lat, bounds.getEast()], [middle.lat, bounds.getWest()]];
      const places = thing.closed ? [middle, ...edges] : [thing.points[Math.floor(thing.points.length / 2)], ...middles];
      if (thing.closed) { areas.push(bounds); }
      label(places[0], [thing.name || thing.kind_words], "linelabel", 2, thing.closed ? 10.5 : 11, places.slice(1), [], { area: thing.closed && bounds });
    }
    hatch();
  }

  // A label tries places round its point, near before far, and shorter words before none. Bad news finds its place
  // first: "leave it" and "cannot say" may stand a little off, at the end of a short thin leader, rather than be left
  // out. The symbol of an anchor without words says its verdict by its shape, and how many there are is told.
  const NEAR = 12; // from its point [px]; a label farther off has a leader
  const SMALL_AREA = 150, MOST_COVERED = 0.3; // an area of less than so many pixels both ways keeps most of itself in sight
  const labels = [], areas = [], leaders = L.layerGroup().addTo(layers.labels);
  const URGENT = site.urgent;
  function label(place, forms, className, gap, rank, others, avoid, { anchor, line, area } = {}) {
    const node = element("span", forms[0]);
    const made = L.marker(place, {
      icon: L.divIcon({ className: "maplabel " + className, html: node }), interactive: false, keyboard: false, zIndexOffset: -500,
    });
    made.addTo(layers.labels);
    labels.push({ marker: made, node: node, forms: forms, place: L.latLng(place), gap: gap, rank: rank, others: others || [], avoid: avoid || [], anchor: anchor, line: line, area: area });
  }
  function around([w, h], gap, avoid) {
    const g = gap;
    const round = [[g, -h / 2], [-g - w, -h / 2], [-w / 2, -g - h], [-w / 2, g], [4, g], [4, -g - h], [-4 - w, g], [-4 - w, -g - h]];
    // places towards a line of the anchor come last: the label would cover it
    const covers = ([x, y]) => avoid.some((way) => {
      const cx = x + w / 2, cy = -(y + h / 2), far = Math.hypot(cx, cy) || 1;
      return (cx * Math.sin(way) + cy * Math.cos(way)) / far > 0.64;
    });
    return round.sort((one, other) => covers(one) - covers(other));
  }
  function placeLabels() {
    leaders.clearLayers();
    const room = map.getSize(), frame = map.getContainer().getBoundingClientRect();
    const taken = [];
    const size = crowd();
    for (const [spots, half] of [[spotsOnMap, size], [marksOnMap, size - 1]]) {
      for (const spot of spots) { const p = map.latLngToContainerPoint(spot); taken.push([p.x - half, p.y - half, p.x + half, p.y + half]); }
    }
    for (const node of [byId("north"), byId("scalebar"), document.querySelector(".leaflet-control-zoom")]) {
      const r = node.getBoundingClientRect();
      taken.push([r.left - frame.left, r.top - frame.top, r.right - frame.left, r.bottom - frame.top]);
    }
    const before = taken.length;
    const small = areas.map((bounds) => {
      const [a, b] = [bounds.getNorthWest(), bounds.getSouthEast()].map((corner) => map.latLngToContainerPoint(corner));
      return { bounds: bounds, box: [a.x, a.y, b.x, b.y], size: (b.x - a.x) * (b.y - a.y) };
    }).filter(({ box }) => Math.max(box[2] - box[0], box[3] - box[1]) < SMALL_AREA);
    const shared = (one, other) => Math.max(0, Math.min(one[2], other[2]) - Math.max(one[0], other[0])) * Math.max(0, Math.min(one[3], other[3]) - Math.max(one[1], other[1]));
    // what stands on the ground is not to vanish under words about something else
    const leavesAreas = (own, box) => small.every(({ bounds, box: area, size }) => bounds === own || !shared(box, area)
      || taken.slice(before).reduce((sum, other) => sum + shared(other, area), shared(box, area)) <= MOST_COVERED * size);
    const free = (box) => box[0] > 0 && box[1] > 0 && box[2] < room.x && box[3] < room.y && taken.every((t) => box[2] < t[0] || box[0] > t[2] || box[3] < t[1] || box[1] > t[3]);
    const towards = (p, box) => L.point(Math.min(Math.max(p.x, box[0]), box[2]), Math.min(Math.max(p.y, box[1]), box[3]));
    // a leader over another anchor would give that one the words
    function clearWay(place, box) {
      const p = map.latLngToContainerPoint(place), near = towards(p, box);
      return spotsOnMap.every((spot) => {
        const at = map.latLngToContainerPoint(spot);
        return at.distanceTo(p) < 1 || L.LineUtil.pointToSegmentDistance(at, p, near) > 16;
      });
    }
    // words beside another anchor would be read as that one's
    const nearest = (place, box) => {
      const away = (spot) => { const at = map.latLngToContainerPoint(spot); return at.distanceTo(towards(at, box)); };
      const own = away(place);
      return spotsOnMap.every((spot) => away(spot) >= own);
    };
    // nor may a line's words lie on another line
    const offOtherLines = (own, box) => site.lines.every((line) => {
      if (line === own || !line.a_place || !line.b_place) { return true; }
      const [a, b] = [line.a_place, line.b_place].map((place) => map.latLngToContainerPoint(place));
      return !L.LineUtil.clipSegment(a, b, L.bounds([box[0] - 4, box[1] - 4], [box[2] + 4, box[3] + 4]));
    });
    function found(entry, form, further, over) {
      const node = entry.marker.getElement();
      entry.node.textContent = form;
      if (node.scrollWidth > node.clientWidth + 1 && form !== entry.forms.at(-1)) { return null; } // no number is cut
      const size = [node.offsetWidth, node.offsetHeight], p = map.latLngToContainerPoint(entry.place);
      const places = [entry.place, ...entry.others];
      if (!over && small.some(({ bounds }) => bounds === entry.area)) { places.push(places.shift()); }
      for (const place of places) {
        const o = map.latLngToContainerPoint(place).subtract(p);
        for (const [x, y] of around(size, entry.gap + further, entry.avoid)) {
          const box = [p.x + o.x + x, p.y + o.y + y, p.x + o.x + x + size[0], p.y + o.y + y + size[1]];
          const own = !entry.anchor || nearest(place, box), clear = further <= NEAR || clearWay(place, box);
          const apart = !entry.line || offOtherLines(entry.line, box);
          if (free(box) && own && clear && apart && (over && entry.rank < 2 || leavesAreas(over && entry.area, box))) { return { entry: entry, form: form, box: box, dx: o.x + x, dy: o.y + y, from: place, far: further > NEAR, over: over }; }
        }
      }
      return null;
    }
    const firstFound = (tries) => { for (const one of tries) { const at = found(...one); if (at) { return at; } } return null; };
    // beside its own point; bad news keeps its words rather than its place, but stands off by no more than a symbol
    const distances = (entry) => (entry.rank < 2 ? [0, NEAR, 26, 40] : entry.rank < 9 || entry.area ? [0, NEAR] : [0]);
    // the name of a small area stands beside it, and on it only where there is no room; so does bad news
    const overs = (entry) => (entry.area || entry.rank < 2 ? [false, true] : [false]);
    const tries = (entry, forms) => forms.flatMap((form) => overs(entry).flatMap((over) => distances(entry).map((further) => [entry, form, further, over])));
    const shown = labels.filter((entry) => entry.marker.getElement() && map.getBounds().pad(0.02).contains(entry.place));
    labels.forEach((entry) => { const node = entry.marker.getElement(); if (node) { node.style.visibility = "hidden"; } });
    const settled = [];
    const order = [...shown].sort((one, other) => one.rank - other.rank);
    function settle(entry, forms) {
      const at = firstFound(tries(entry, forms));
      if (at) { taken.push(at.box); settled.push(at); }
    }
    // first everybody's shortest words, bad news whole, then whole words where there is room for them, then names of surroundings
    const named = order.filter((entry) => entry.rank < 9);
    named.forEach((entry) => settle(entry, entry.forms.slice(entry.rank < 2 ? -2 : -1)));
    settled.forEach((at, i) => {
      if (at.far) { return; }
      taken.splice(taken.indexOf(at.box), 1);
      settled[i] = firstFound(at.entry.forms.map((form) => [at.entry, form, 0, at.over])) || at;
      taken.push(settled[i].box);
    });
    order.filter((entry) => entry.rank >= 9).forEach((entry) => settle(entry, entry.forms));
    for (const at of settled) {
      const node = at.entry.marker.getElement();
      at.entry.node.textContent = at.form;
      node.style.marginLeft = at.dx + "px";
      node.style.marginTop = at.dy + "px";
      node.style.visibility = "visible";
      if (at.far) {
        const near = map.containerPointToLatLng(towards(map.latLngToContainerPoint(at.from), at.box));
        L.polyline([at.from, near], { pane: "lines", color: "#4a5058", weight: 1, interactive: false, className: "leader" }).addTo(leaders);
      }
    }
    const without = shown.filter((entry) => entry.rank < 9 && !settled.some((at) => at.entry === entry)), note = byId("unworded");
    note.hidden = !without.length;
    const printing = document.body.classList.contains("printing"); // paper is not magnified: it names each
    const names = [...site.anchors, ...site.lines].filter((one) => without.some((entry) => one === (entry.anchor || entry.line)));
    const told = site.texts[printing ? "map-js-unworded-printed" : "map-js-unworded"].replace("{n}", without.length);
    note.textContent = without.length ? told.replace("{names}", () => names.map((one) => one.code || one.id).join(", ")) : "";
  }
  // symbols that would lie on one another are drawn smaller; half the width of one [px]
  function crowd() {
    const at = spotsOnMap.map((spot) => map.latLngToContainerPoint(spot));
    const near = at.map((p, i) => Math.min(...at.map((q, j) => (i === j ? Infinity : p.distanceTo(q))))).sort((a, b) => a - b);
    const crowded = near.length > 1 && near[Math.floor(near.length / 4)] < 30;
    map.getContainer().classList.toggle("crowded", crowded);
    return crowded ? (document.body.classList.contains("printing") ? 7 : 9) : 14;
  }

  const placed = site.anchors.filter((a) => a.place), spotsOnMap = placed.map((a) => L.latLng(a.place));
  // where the places of two anchors for a finger overlap, the nearer one is meant
  function nearestTo(point) {
    const away = spotsOnMap.map((spot) => map.latLngToContainerPoint(spot).distanceTo(point));
    return placed[away.indexOf(Math.min(...away))];
  }
  const verdictFill = (word) => site.verdicts[word || "not judged"].fill;
  const verdictShape = (word) => site.verdicts[word || "not judged"].shape;
  function drawAnchors() {
    for (const anchor of site.anchors) {
      if (!anchor.place) { continue; }
      const round = (radius, options, layer) => radius &&
        L.circle(anchor.place, { radius: radius, pane: "zones", interactive: false, ...options }).addTo(layers[layer]);
      round(anchor.root_zone_radius_m, { color: "#8a6d3b", weight: 2, dashArray: "3 6", fill: false }, "root zones");
      round(anchor.crown_radius_m, { color: "#1b1f24", weight: 1.2, fillColor: "#009E73", fillOpacity: 0.13 }, "crowns");
      round(anchor.trunk_radius_m, { color: "#1b1f24", weight: 1, fillColor: "#1b1f24", fillOpacity: 0.55 }, "anchors");
      if (anchor.error_outline.length) {
        L.polygon(anchor.error_outline, { pane: "zones", interactive: false, color: "#CC79A7", weight: 3, fill: false })
          .addTo(layers["position errors"]);
      }
      if (anchor.as_read) {
        L.polyline([anchor.as_read, anchor.place], { pane: "zones", interactive: false, color: "#CC79A7", weight: 2, dashArray: "2 4" })
          .addTo(layers["position errors"]);
      }
      const word = anchor.verdict || "not judged";
      marker(anchor.place, verdictShape(word), verdictFill(word), 28, anchor.code + site.texts.colon + " " + anchor.verdict_words,
        (meant = anchor) => (measuring ? touched(L.latLng(meant.place)) : showAnchor(meant)),
        (9 - URGENT.indexOf(word)) * 1000).addTo(layers.anchors); // bad news lies over the rest
      label(anchor.place, [anchor.code + " " + anchor.verdict_words, anchor.code], "", 17, URGENT.indexOf(word), [], waysFrom(anchor.place), { anchor: anchor });
    }
  }
  function waysFrom(place) {
    const same = (other) => other && other[0] === place[0] && other[1] === place[1];
    return site.lines.flatMap((line) => {
      const far = same(line.a_place) ? line.b_place : same(line.b_place) ? line.a_place : null;
      return far ? [course(onGround(L.latLng(place)), onGround(L.latLng(far))).bearing * Math.PI / 180] : [];
    });
  }
  function drawLines() {
    for (const line of site.lines) {
      const ends = [line.a_place, line.b_place];
      if (!ends[0] || !ends[1]) { continue; }
      L.polygon(line.strip, { pane: "zones", interactive: false, color: "#D55E00", weight: 1, dashArray: "1 5", fillOpacity: 0.09 })
        .addTo(layers["fall strips"]);
      L.polyline(ends, { pane: "lines", color: "#fdfcf7", weight: 9, interactive: false }).addTo(layers.lines);
      const drawn = L.polyline(ends, { pane: "lines", color: "#1b1f24", weight: 4, dashArray: site.verdicts[line.verdict].dash || null, lineCap: "butt" });
      drawn.on("click", () => { if (!measuring) { showLine(line); } });
      drawn.addTo(layers.lines);
      const along = (share) => [0, 1].map((i) => ends[0][i] + share * (ends[1][i] - ends[0][i]));
      const brief = line.id + " " + line.verdict_words;
      label(along(0.5), [brief + ", " + line.short_words, brief, line.id], "linelabel", 6, URGENT.indexOf(line.verdict) + 0.5,
        [along(0.35), along(0.65)], [], { line: line });
    }
  }

  function showDetails(title, rows, sentences) {
    const box = byId("details");
    box.replaceChildren(element("h3", title));
    const list = element("dl");
    for (const [term, value] of rows) { list.append(element("dt", term), element("dd", value)); }
    box.append(list);
    for (const sentence of sentences) { box.append(element("p", sentence)); }
    for (const node of document.querySelectorAll("ul.list button")) {
      node.setAttribute("aria-current", String(node.dataset.code === title.split(",")[0]));
    }
  }
  function showAnchor(anchor) {
    showDetails(anchor.code + ", " + anchor.verdict_words, anchor.rows, anchor.sentences);
    if (anchor.place) { map.panTo(anchor.place); }
  }
  function showLine(line) {
    showDetails(line.id + ", " + line.verdict_words, line.rows, line.sentences);
    if (line.a_place && line.b_place) { map.fitBounds([line.a_place, line.b_place], { padding: [60, 60], maxZoom: 20 }); }
  }
  document.querySelectorAll("ul.list button").forEach((node) => {
    const kind = node.dataset.kind, index = Number(node.dataset.index);
    node.addEventListener("click", () => (kind === "line" ? showLine(site.lines[index]) : showAnchor(site.anchors[index])));
  });
  document.querySelectorAll("input[data-layer]").forEach((box) => box.addEventListener("change", () => {
    const layer = layers[box.dataset.layer];
    if (box.checked) { layer.addTo(map); } else { layer.remove(); }
    if (box.checked) { placeLabels(); hatch(); }
  }));

  // Measuring: two clicks on the map, near an anchor its exact place; or two anchors picked from lists.
  const measured = L.layerGroup().addTo(map);
  let first = null, measuring = false;
  const says = byId("measured"), measureButton = byId("measure");
  function snapped(place) {
    const at = map.latLngToContainerPoint(place);
    const near = spotsOnMap.filter((s) => map.latLngToContainerPoint(s).distanceTo(at) < 18);
    return near.length ? near[0] : place;
  }
  function showMeasured(a, b) {
    measured.clearLayers();
    L.polyline([a, b], { color: "#CC79A7", weight: 5, interactive: false }).addTo(measured);
    says.textContent = courseWords(a, b);
  }
  measureButton.addEventListener("click", () => {
    measuring = !measuring;
    first = null;
    measureButton.setAttribute("aria-pressed", String(measuring));
    map.getContainer().style.cursor = measuring ? "crosshair" : "";
    says.textContent = measuring ? site.texts["map-js-first"] : "";
    measured.clearLayers();
  });
  map.on("click", (event) => { if (measuring) { touched(snapped(event.latlng)); } });
  function touched(place) {
    if (first === null) {
      first = place;
      measured.clearLayers();
      L.circleMarker(place, { radius: 6, color: "#1b1f24", fillColor: "#CC79A7", fillOpacity: 1, interactive: false }).addTo(measured);
      says.textContent = site.texts["map-js-second"];
    } else {
      showMeasured(first, place);
      first = null;
    }
  }
  function measureFromLists() {
    const [a, b] = [byId("from"), byId("to")].map((list) => site.anchors[Number(list.value)]);
    if (a && b && a.place && b.place) { showMeasured(L.latLng(a.place), L.latLng(b.place)); }
  }
  ["from", "to"].forEach((id) => byId(id).addEventListener("change", measureFromLists));

  const ScaleBar = L.Control.extend({ options: { position: "bottomleft" }, onAdd: () => byId("scalebar") });
  const North = L.Control.extend({ options: { position: "topright" }, onAdd: () => byId("north") });
  new ScaleBar().addTo(map);
  new North().addTo(map);
  function drawScale() {
    const steps = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 100000, 1000000];
    const metres = [...steps].reverse().find((step) => metresToPixels(step) <= 150) || 1;
    byId("scalebar").querySelector(".bar").style.width = metresToPixels(metres) + "px";
    byId("scalebar").querySelector(".length").textContent = metres + " m (" + Math.round(metres / site.foot_m) + " ft)";
  }
  function refresh() {
    widened.forEach((widen) => widen());
    drawScale();
    placeLabels();
    hatch();
  }
  drawSurroundings();
  drawAnchors();
  drawLines();
  const north = byId("north");
  const hidesAnAnchor = () => {
    const frame = map.getContainer().getBoundingClientRect();
    return [north, byId("scalebar"), document.querySelector(".leaflet-control-zoom")].some((node) => {
      const r = node.getBoundingClientRect();
      return spotsOnMap.concat(marksOnMap).some((spot) => {
        const p = map.latLngToContainerPoint(spot), x = p.x + frame.left, y = p.y + frame.top;
        return x > r.left - 16 && x < r.right + 16 && y > r.top - 16 && y < r.bottom + 16;
      });
    });
  };
  // the largest view in which nothing of the frame lies on an anchor or a mark
  function fit() {
    const edge = [30, 30], under = [30, north.offsetHeight + 30], beside = [north.offsetWidth + 30, 30], over = [30, byId("scalebar").offsetHeight + 30];
    const kept = [[edge, edge], [edge, beside], [under, edge], [edge, over], [under, over]].map(([first, last]) => ({ first: first, last: last,
      zoom: map.getBoundsZoom(site.bounds, false, L.point(first).add(last)) }));
    for (const { first, last } of kept.sort((one, other) => other.zoom - one.zoom)) {
      map.fitBounds(site.bounds, { paddingTopLeft: first, paddingBottomRight: last, maxZoom: 21, animate: false });
      if (!hidesAnAnchor()) { break; }
    }
  }
  // A sheet is no screen: the map is fitted to it anew, upright or sideways, whichever shows the site larger. It is drawn
  // for an A4 sheet; on any other the style makes all of it larger or smaller, since no script knows the paper.
  const SHEETS = [[703, 800], [1032, 540]], INSIDE = [[703, 1032], [1032, 703]], side = document.querySelector(".mapside");
  let seen = null;
  const sized = (size) => {
    [side.style.width, side.style.height] = size ? size.map((px) => px + "px") : ["", ""];
    map.invalidateSize({ animate: false, pan: false });
  };
  window.addEventListener("beforeprint", () => {
    seen = seen || [map.getCenter(), map.getZoom()];
    document.body.classList.add("printing");
    map.options.zoomSnap = 0.05;
    const zooms = SHEETS.map((size) => { sized(size); return map.getBoundsZoom(site.bounds, false, L.point(60, 60)); });
    const sideways = zooms[1] > zooms[0];
    document.body.classList.toggle("sideways", sideways);
    sized(SHEETS[Number(sideways)]);
    const [wide, tall] = INSIDE[Number(sideways)], told = { "--wide": wide, "--tall": tall, "--map": SHEETS[Number(sideways)][1] };
    for (const [name, px] of Object.entries(told)) { side.style.setProperty(name, px + "px"); }
    fit();
    refresh();
  });
  window.addEventListener("afterprint", () => {
    document.body.classList.remove("printing", "sideways");
    sized(null);
    map.options.zoomSnap = site.map.zoomSnap;
    map.setView(...seen, { animate: false });
    seen = null;
  });
  fit();
  map.on("zoomend moveend resize", refresh);
  refresh();
}
const site = JSON.parse(document.getElementById("site-data").textContent);
const sitemap = L.map("sitemap", site.map);
if (site.tiles) { L.tileLayer(site.tiles.address, site.tiles.options).addTo(sitemap); }
drawSite(sitemap, site);
