// From a text of YAML to a record as the form keeps it: every answer a text as it was typed, true or false, or a list.

/** A record from a file's text. Throws an error whose message names every line that was refused. */
function readRecord(text) {
  const root = new YamlReader(text).document();
  const faults = [];
  if (!root.map) throw new Refused(root.line, say("refused-no-record"));
  const version = root.map.find(([key]) => key === "siteassess_record");
  if (version?.[1].text !== String(form.format)) throw new Refused(version?.[1].line ?? 1, say("refused-version"));
  const record = partFrom("Record", root, faults) ?? {};
  if (faults.length) throw new Error(faults.slice(0, 10).join("\n"));
  delete record.siteassess_record;
  return { ...record, site: record.site ?? {}, survey: record.survey ?? {}, anchors: record.anchors ?? [], lines: record.lines ?? [] };
}

const isBlank = (node) => node.text !== undefined && node.plain && IS_NULL(node.text);

/** A part's answers; undefined where all its keys were left blank, as the program takes it. */
function partFrom(part, node, faults) {
  const values = {};
  if (node.map === undefined) {
    faults.push(new Refused(node.line, say("refused-block")).message);
    return undefined;
  }
  if (part === "Position" && !node.map.some(([key]) => key === "fixes" || key === "ties")) {
    const fix = partFrom("Fix", node, faults);
    return fix && { fixes: [fix] };
  }
  for (const [key, inner] of node.map) {
    const field = fieldOf(part, key);
    if (!field) {
      faults.push(new Refused(inner.line, say("refused-unknown", { what: key })).message);
    } else if (!isBlank(inner)) {
      const value = valueFrom(field, inner, faults);
      if (value !== undefined) values[key] = value;
    }
  }
  return Object.keys(values).length || !node.map.length ? values : undefined;
}

function valueFrom(field, node, faults) {
  if (field.kind === "table") return node.map ? withoutLines(node) : node.text ?? "";
  if (field.kind === "part") return partFrom(field.parts[0], node, faults);
  if (field.kind === "parts") return listFrom(field, node, faults);
  if (field.kind === "points") return node.list ? node.list.map(pointFrom) : node.text ?? "";
  if (node.text === undefined) {
    faults.push(new Refused(node.line, say("refused-text", { what: field.name })).message);
    return undefined;
  }
  if (field.kind === "yes or no" && node.plain && ["true", "false"].includes(node.text)) return node.text === "true";
  return node.text;
}

function listFrom(field, node, faults) {
  if (!node.list) {
    faults.push(new Refused(node.line, say("refused-list", { what: field.name })).message);
    return undefined;
  }
  return node.list.filter((item) => !isBlank(item)).map((item) => {
    const kind = item.map?.find(([key]) => key === "kind")?.[1].text;
    const part = field.parts.length === 1 ? field.parts[0] : form.kinds[kind];
    if (part) return partFrom(part, item, faults);
    faults.push(new Refused(item.line, say("refused-kind")).message);
    return undefined;
  }).filter((item) => item !== undefined);
}

const pointFrom = (node) => (node.list ? node.list.map((inner) => inner.text ?? "") : [node.text ?? ""]);

function withoutLines(node) {
  if (node.map) return { map: node.map.map(([key, inner]) => [key, withoutLines(inner)]) };
  if (node.list) return { list: node.list.map(withoutLines) };
  return { text: node.text, plain: node.plain };
}
