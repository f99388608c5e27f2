// The record as YAML: a writer that quotes every text, and a reader of that part of YAML which records are written in.
const ONLY_NUMBER = (text) => WHOLE.test(text) || DECIMAL.test(text);
const IS_NULL = (text) => text === "" || text === "~" || text === "null";
const quoted = (text) => JSON.stringify(String(text).replace(FORBIDDEN, ""));
const plainKey = (key) => (/^[A-Za-z_][A-Za-z0-9_-]*$/.test(key) && !["null", "true", "false"].includes(key) ? key : quoted(key));

/** A record as the text of a file that the program reads. */
function writeRecord(record) {
  return writePart("Record", { ...record, siteassess_record: form.format }, 0).join("\n") + "\n";
}

function writePart(part, values, depth) {
  return partOf(part).flatMap((field) => writeField(field, values[field.name], depth));
}

function writeField(field, value, depth) {
  const start = "  ".repeat(depth) + field.name + ":";
  if (!filled(value)) return [];
  if (field.kind === "part") return writeBlock(start, partNameOf(field, value), value, depth);
  if (field.kind === "parts") return value.length ? [start, ...value.flatMap((item) => writeItem(field, item, depth + 1))] : [];
  if (field.kind === "table") return writeTree(start, value, depth);
  return [`${start} ${writeLeaf(field, value)}`];
}

/** Several kinds of part may stand in a list of anchors; each says its own. */
function partNameOf(field, value) {
  return field.parts.length === 1 ? field.parts[0] : form.kinds[value.kind] ?? field.parts[0];
}

function writeBlock(start, part, value, depth) {
  if (part === "Position") {
    const fixes = value.fixes ?? [], ties = value.ties ?? [];
    // one fix is the common case and is written without the list
    if (fixes.length === 1 && !ties.length) return writeBlock(start, "Fix", fixes[0], depth);
    if (!fixes.length && !ties.length) return [`${start} {fixes: []}`];
  }
  const inside = writePart(part, value, depth + 1);
  return inside.length ? [start, ...inside] : [`${start} {}`];
}

function writeItem(field, item, depth) {
  const inside = writePart(partNameOf(field, item), item, depth + 1);
  const dash = "  ".repeat(depth) + "- ";
  return inside.length ? [dash + inside[0].trimStart(), ...inside.slice(1)] : [dash + "{}"];
}

function writeLeaf(field, value) {
  if (field.name === "siteassess_record") return String(value);
  if (field.kind === "points") return Array.isArray(value) ? `[${value.map(writePoint).join(", ")}]` : quoted(value);
  if (field.kind === "yes or no" && typeof value === "boolean") return String(value);
  if (["number", "whole number"].includes(field.kind) && ONLY_NUMBER(value)) return value;
  return quoted(value);
}

const writePoint = (point) => `[${[point].flat().map((text) => (ONLY_NUMBER(text) ? text : quoted(text))).join(", ")}]`;

/** A tree of our own making (the land manager's rules): {map: [[key, tree]]}, {list: [tree]}, {text, plain}. */
function writeTree(start, tree, depth) {
  if (typeof tree === "string") return [`${start} ${quoted(tree)}`];
  const deeper = "  ".repeat(depth + 1);
  if (tree.map) {
    if (!tree.map.length) return [`${start} {}`];
    return [start, ...tree.map.flatMap(([key, inner]) => writeTree(`${deeper}${plainKey(key)}:`, inner, depth + 1))];
  }
  if (tree.list) {
    if (!tree.list.length) return [`${start} []`];
    return [start, ...tree.list.flatMap((inner) => dashed(writeTree("", inner, depth + 1), depth + 1))];
  }
  const bare = tree.plain && (IS_NULL(tree.text) || tree.text === "true" || tree.text === "false" || ONLY_NUMBER(tree.text));
  return [`${start} ${bare ? tree.text || "null" : quoted(tree.text)}`];
}

function dashed(lines, depth) {
  const dash = "  ".repeat(depth) + "-";
  if (lines.length === 1) return [`${dash} ${lines[0].trim()}`];
  return [`${dash} ${lines[1].trim()}`, ...lines.slice(2)];
}

/** A text that is no record of the kind written here: the line, and why. */
class Refused extends Error {
  constructor(line, why) {
    super(say("refused-at", { line, why }));
    this.line = line;
  }
}

const BLANK_LINE = /^\s*(#.*)?$/;
const KEY = /^("(?:[^"\\]|\\.)*"|'(?:[^']|'')*'|[^\s"'[\]{}#&*!|>%@`,?:-][^:]*?)\s*:(?=\s|$)/;
const MOST_DEPTH = 24;
const ESCAPES = { 0: "\0", a: "\x07", b: "\b", t: "\t", "\t": "\t", n: "\n", v: "\v", f: "\f", r: "\r", e: "\x1b", " ": " ",
  '"': '"', "/": "/", "\\": "\\", N: "\x85", _: "\xa0", L: "\u2028", P: "\u2029" };
const HEX_LENGTH = { x: 2, u: 4, U: 8 };

/** Reads block and flow maps and lists, plain, quoted and literal texts. Anything else is refused with its line. */
class YamlReader {
  constructor(text) {
    this.lines = text.replace(/^\ufeff/, "").replace(/\r\n?/g, "\n").split("\n");
    this.at = 0;
    this.nested = 0;
  }

  document() {
    this.skip();
    if (/^---\s*(#.*)?$/.test(this.lines[this.at] ?? "")) this.at += 1;
    const node = this.block(0, -1);
    this.skip();
    if (this.at < this.lines.length) this.refuse("refused-step");
    return node;
  }

  refuse(key, values = {}) {
    throw new Refused(Math.min(this.at, this.lines.length - 1) + 1, say(key, values));
  }

  skip() {
    while (this.at < this.lines.length && BLANK_LINE.test(this.lines[this.at])) this.at += 1;
  }

  get line() {
    return this.lines[this.at];
  }

  /** Column the line begins at, or -1 after the last line. */
  column() {
    this.skip();
    if (this.at >= this.lines.length) return -1;
    const space = this.line.match(/^\s*/)[0];
    if (/[^ ]/.test(space)) this.refuse("refused-tab");
    if (/^(---|\.\.\.)(\s|$)/.test(this.line)) this.refuse("refused-second");
    return space.length;
  }

  block(least, above) {
    const column = this.column();
    if (column < least) return { line: this.at + 1, text: "", plain: true };
    this.nested += 1;
    if (this.nested > MOST_DEPTH) this.refuse("refused-deep");
    const rest = this.line.slice(column);
    let node;
    if (/^-(\s|$)/.test(rest)) node = this.list(column);
    else if (KEY.test(rest)) node = this.map(column);
    else node = this.scalar(column, above);
    this.nested -= 1;
    return node;
  }

  list(column) {
    const node = { line: this.at + 1, list: [] };
    for (;;) {
      const here = this.column();
      if (here < column || (here === column && !/^-(\s|$)/.test(this.line.slice(column)))) return node;
      if (here > column) this.refuse("refused-step");
      // with the dash taken away, what follows it is a block of its own
      this.lines[this.at] = `${this.line.slice(0, column)} ${this.line.slice(column + 1)}`;
      node.list.push(this.block(column + 1, column));
    }
  }

  map(column) {
    const node = { line: this.at + 1, map: [] };
    const seen = new Set();
    for (;;) {
      const here = this.column();
      if (here < column) return node;
      const found = here === column && KEY.exec(this.line.slice(column));
      if (!found) this.refuse(here > column ? "refused-step" : "refused-colon");
      const key = this.keyText(found[1]);
      if (seen.has(key) || key === "<<") this.refuse("refused-again", { what: key });
      seen.add(key);
      const line = this.at + 1;
      const value = this.after(column + found[0].length, column);
      value.line = line;
      node.map.push([key, value]);
    }
  }

  keyText(text) {
    if (text[0] === '"') return new YamlReader(text).quotedText(0)[0];
    return text[0] === "'" ? text.slice(1, -1).replaceAll("''", "'") : text;
  }

  /** The value after a key's colon: on the same line, or a block below it. */
  after(column, above) {
    if (BLANK_LINE.test(this.line.slice(column))) {
      this.at += 1;
      const next = this.column();
      const listHere = next === above && /^-(\s|$)/.test(this.line.slice(next));
      return listHere ? this.list(next) : this.block(above + 1, above);
    }
    return this.scalar(column + this.line.slice(column).match(/^\s*/)[0].length, above);
  }

  scalar(column, above) {
    const first = this.line[column];
    if ("&*!%@`>".includes(first) || /^\?\s/.test(this.line.slice(column))) this.refuse("refused-mark", { what: first });
    if (first === "|") return this.literal(column, above);
    if (first === '"' || first === "'") return this.toLineEnd({ line: this.at + 1, plain: false }, this.quotedText(column));
    if (first === "[" || first === "{") return this.toLineEnd({ line: this.at + 1 }, this.flow(column));
    return this.plain(column, above);
  }

  toLineEnd(node, [value, column]) {
    if (!BLANK_LINE.test(this.line.slice(column)) || /^#/.test(this.line.slice(column))) this.refuse("refused-after");
    this.at += 1;
    return typeof value === "string" ? { ...node, text: value } : { ...value, line: node.line };
  }

  plain(column, above) {
    const node = { line: this.at + 1, text: "", plain: true };
    let rest = this.line.slice(column), glue = "";
    for (;;) {
      const [words, note] = this.withoutNote(rest);
      if (/:(\s|$)/.test(words)) this.refuse("refused-colon");
      node.text += glue + words;
      this.at += 1;
      let blanks = 0;
      while (this.at + blanks < this.lines.length && !this.lines[this.at + blanks].trim()) blanks += 1;
      const next = this.lines[this.at + blanks];
      if (note || next === undefined || next.match(/^ */)[0].length <= above || /^\s*#/.test(next)) return node;
      this.at += blanks;
      this.column(); // refuses tabs and a second document
      glue = blanks ? "\n".repeat(blanks) : " ";
      rest = this.line.trim();
    }
  }

  withoutNote(rest) {
    const note = rest.search(/(^|\s)#/);
    return [(note < 0 ? rest : rest.slice(0, note)).trim(), note >= 0];
  }

  literal(column, above) {
    const node = { line: this.at + 1, plain: false };
    const head = /^\|(?:([+-])?([1-9])?|([1-9])([+-]))\s*(#.*)?$/.exec(this.line.slice(column));
    if (!head) this.refuse("refused-mark", { what: "|" });
    const keep = head[1] ?? head[4], said = head[2] ?? head[3];
    this.at += 1;
    let indent = said ? Math.max(above, 0) + Number(said) : 0;
    const taken = [];
    for (; this.at < this.lines.length; this.at += 1) {
      const depth = this.line.match(/^ */)[0].length;
      if (this.line.trim()) {
        indent ||= depth;
        if (depth < indent || depth <= above) break;
      }
      taken.push(indent ? this.line.slice(indent) : "");
    }
    let end = taken.length;
    while (end && !taken[end - 1]) end -= 1;
    const ends = { "-": 0, "+": taken.length - end + (end ? 1 : 0) }[keep] ?? (end ? 1 : 0);
    // the split leaves one empty text after the file's last line end, which is no line of the text
    const last = keep === "+" && this.at >= this.lines.length ? 1 : 0;
    node.text = taken.slice(0, end).join("\n") + "\n".repeat(Math.max(0, ends - last));
    return node;
  }

  /** A quoted text from its first mark on, over several lines if need be: the text, and the column after it. */
  quotedText(column) {
    const mark = this.line[column];
    let text = "", solid = 0; // what stands before `solid` was escaped and is not trimmed
    for (let i = column + 1; ; i += 1) {
      if (i >= this.line.length) {
        text = text.slice(0, solid) + text.slice(solid).replace(/[ \t]+$/, "");
        [text, i] = this.folded(text, " ");
        solid = text.length;
        continue;
      }
      const letter = this.line[i];
      if (letter === mark && mark === "'" && this.line[i + 1] === "'") {
        text += "'";
        i += 1;
      } else if (letter === mark) {
        return [text, i + 1];
      } else if (letter === "\\" && mark === '"') {
        if (i + 1 >= this.line.length) {
          [text, i] = this.folded(text, "");
        } else {
          const [said, length] = this.escaped(i + 1);
          text += said;
          i += length;
        }
        solid = text.length;
      } else {
        text += letter;
      }
    }
  }

  /** Goes on to the next line of a quoted text; empty lines between are line ends of the text. */
  folded(text, glue) {
    let ends = 0;
    do {
      this.at += 1;
      if (this.at >= this.lines.length) this.refuse("refused-quote");
      ends += this.line.trim() ? 0 : 1;
    } while (!this.line.trim());
    return [text + (ends ? "\n".repeat(ends) : glue), this.line.match(/^\s*/)[0].length - 1];
  }

  escaped(i) {
    const letter = this.line[i];
    const length = HEX_LENGTH[letter];
    if (!length) {
      if (!(letter in ESCAPES)) this.refuse("refused-mark", { what: `\\${letter}` });
      return [ESCAPES[letter], 1];
    }
    const hex = this.line.slice(i + 1, i + 1 + length);
    const code = parseInt(hex, 16);
    if (!/^[0-9a-fA-F]+$/.test(hex) || hex.length < length || code > 0x10ffff) this.refuse("refused-mark", { what: `\\${letter}` });
    return [String.fromCodePoint(code), 1 + length];
  }

  // ---- flow: [a, b] and {key: value}, over several lines if need be

  /** Column of the next thing that is neither space nor note, on this line or a later one. */
  flowNext(column) {
    for (;;) {
      const rest = this.line.slice(column);
      const space = rest.match(/^\s*/)[0].length;
      const noteHere = rest[space] === "#" && /\s/.test(this.line[column + space - 1] ?? " ");
      if (space < rest.length && !noteHere) return column + space;
      this.at += 1;
      if (this.at >= this.lines.length) this.refuse("refused-bracket");
      column = 0;
    }
  }

  flow(column) {
    this.nested += 1;
    if (this.nested > MOST_DEPTH) this.refuse("refused-deep");
    const isMap = this.line[column] === "{", close = isMap ? "}" : "]";
    const node = isMap ? { line: this.at + 1, map: [] } : { line: this.at + 1, list: [] };
    column = this.flowNext(column + 1);
    while (this.line[column] !== close) {
      let item;
      if (isMap) [item, column] = this.flowPair(column, node.map);
      else [item, column] = this.flowValue(column);
      (node.map ?? node.list).push(item);
      column = this.flowNext(column);
      if (this.line[column] === ",") column = this.flowNext(column + 1);
      else if (this.line[column] !== close) this.refuse("refused-bracket");
    }
    this.nested -= 1;
    return [node, column + 1];
  }

  flowPair(column, before) {
    const line = this.at + 1;
    const [key, afterKey] = this.flowValue(column);
    if (key.text === undefined || before.some(([name]) => name === key.text) || key.text === "<<") this.refuse("refused-again", { what: key.text ?? "?" });
    column = this.flowNext(afterKey);
    if (this.line[column] !== ":") return [[key.text, { line, text: "", plain: true }], column];
    column = this.flowNext(column + 1);
    if (",}".includes(this.line[column])) return [[key.text, { line, text: "", plain: true }], column];
    const [value, end] = this.flowValue(column);
    return [[key.text, value], end];
  }

  flowValue(column) {
    const first = this.line[column], line = this.at + 1;
    if (first === "[" || first === "{") return this.flow(column);
    if (first === '"' || first === "'") {
      const [text, end] = this.quotedText(column);
      return [{ line, text, plain: false }, end];
    }
    if ("&*!%@`|>,".includes(first) || /^[?-](\s|$)/.test(this.line.slice(column))) this.refuse("refused-mark", { what: first });
    let text = "";
    for (;;) {
      const end = this.flowPlainEnd(column);
      text += this.line.slice(column, end).trim();
      if (!BLANK_LINE.test(this.line.slice(end))) return [{ line, text, plain: true }, end];
      column = this.flowNext(end);
      if (",]}:[{".includes(this.line[column])) return [{ line, text, plain: true }, column];
      text += " ";
    }
  }

  /** Where a plain text within brackets ends on this line: at a bracket, a comma, a colon that ends a key, or a note. */
  flowPlainEnd(column) {
    for (; column < this.line.length; column += 1) {
      const letter = this.line[column];
      if (",[]{}".includes(letter)) break;
      if (letter === ":" && /^:([\s,[\]{}]|$)/.test(this.line.slice(column))) break;
      if (letter === "#" && /\s/.test(this.line[column - 1] ?? " ")) break;
    }
    return column;
  }
}
