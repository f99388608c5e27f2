// Texts to numbers, as the program reads them: the same pattern, the same units, the same ranges.
const form = JSON.parse(document.getElementById("form-data").textContent);
const LIMIT = form.limits;
const NUMBER_AND_UNIT = /^\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))\s*([^\d\s.,+-].*?)?\s*$/;
const THOUSANDS = /^\s*[+-]?[1-9][0-9]{0,2}([ \u00a0\u2009\u202f])[0-9]{3}(?:\1[0-9]{3})*(?![0-9])/;
const DECIMAL_COMMA = /^(\s*[+-]?(?:0|[0-9]+(?!,[0-9]{3}(?![0-9])))),([0-9]+)(?![0-9.,])/;
const FEET_AND_INCHES = /^\s*([0-9]+)\s*(?:ft|')\s*([0-9]+(?:\.[0-9]+)?)\s*(?:in|")\s*$/;
const FOOT_MARKS = { "\u2032": "'", "\u2019": "'", "\u2033": "\u0022", "\u201d": "\u0022", "\u201c": "\u0022" }; // as phones set them
const MARK_BEHIND = /([0-9]\s*)(['\u0022])\s*$/;
const CODE = /^[A-Za-z0-9][A-Za-z0-9_.-]*$/;
const WHOLE = /^[-+]?(?:0|[1-9][0-9]*)$/;
const DECIMAL = /^(?:[-+]?(?:0|[1-9][0-9]*)?\.[0-9]+|[-+]?(?:0|[1-9][0-9]*)\.|[-+]?[0-9]+(?:\.[0-9]*)?[eE][-+]?[0-9]+)$/;
// controls, halves of a pair, marks that turn the direction of text about: the program refuses them
const FORBIDDEN = /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\ud800-\udfff\u2028-\u202e\u2066-\u2069\ufeff\ufffe\uffff]/gu;
const LONGEST_QUANTITY = 60, LONGEST_CODE = 24, LONGEST_TEXT = 2000, LONGEST_PATH = 300;

form.choices = Object.fromEntries(form.said.map((word, index) => [form.answers[index], word]));
form.lists = form.lists.map((list) => list.map((index) => form.answers[index]));
let genus = "";
form.species = form.species.split("\n").map((names) => {
  const [name, common = "", others = ""] = names.split("|");
  genus = name.startsWith(" ") ? genus : name.split(" ")[0];
  return { name: name.startsWith(" ") ? genus + name : name, common: common.split(";"), others: others.split(";") };
});
for (const [part, fields] of Object.entries(form.parts)) form.parts[part] = fields.map(([name, ask, asked, rest]) => ({ name, ask, quick: asked & 1, required: asked & 2, ...rest }));
for (const field of Object.values(form.parts).flat()) {
  if (field.choices !== undefined) {
    const choices = form.lists[field.choices];
    Object.assign(field, { kind: "choice", choices, preset: choices[field.preset] });
  } else if (field.measure !== undefined) {
    const [of, low, high, example, unit] = form.measures[field.measure];
    const [least, most] = [low, high].map((text) => readQuantity(text, of).si);
    Object.assign(field, { kind: "quantity", of, low, high, example, unit, least, most });
  }
  field.kind ??= field.parts ? "part" : "text";
}

form.sizes.names = form.sizes.names.split(",").map((one) => one.split(":"));
const spaced = (field) => field.replaceAll("_", " ");
const called = [...new Set(form.sizes.names.map(([name]) => spaced(name.split(".").at(-1))))];
form.named = Object.fromEntries(form.named.map((word, index) => [called[index], word]));
const nameAt = (place) => form.sizes.names[place]?.[0];
form.sizes.genera = new Map(form.sizes.genera.split(",").map((one) => [one.split(" ")[0], one.split(" ")]));
form.sizes.rules = form.sizes.rules.map(([size, beside, answer, low, high, exponent = 0, sd, cap, least = 0, most]) => (
  { size: nameAt(size), beside: nameAt(beside), answers: answer && answer.split(";"), low, high, exponent, sd, cap, least, most: most || Infinity }
));
const partOf = (name) => form.parts[name];
const fieldOf = (part, name) => partOf(part).find((field) => field.name === name);
const choiceWord = (choice) => form.choices[choice] ?? String(choice);
const filled = (value) => value !== undefined && value !== null && value !== "";

/** A sentence of the form's language with its places filled in; what is put in is never read again. */
function say(key, values = {}) {
  return form.words[key].replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
}

const saidOf = (name, text) => `${name ?? "?"}${say("colon")} ${text}`;

/** A text as a quantity: {si, number, unit}, or {fault} with a sentence that tells how to mend it. */
function readQuantity(text, kind, example = "") {
  const units = form.units[kind];
  const list = Object.keys(units).join(", ");
  if (typeof text !== "string" || text.length > LONGEST_QUANTITY) return { fault: say("want-number-unit", { units: list }) };
  text = kind === "length" ? text.replace(/[\u2032\u2019\u2033\u201d\u201c]/g, (mark) => FOOT_MARKS[mark]) : text;
  const both = kind === "length" && text.match(FEET_AND_INCHES);
  if (both) {
    if (Number(both[2]) >= 12) return { fault: say("want-inches-under-12") };
    return { si: Number(both[1]) * units.ft + Number(both[2]) * units.in, number: text.trim(), unit: "" };
  }
  const marked = kind === "length" ? text.replace(MARK_BEHIND, (whole, number, mark) => `${number} ${mark === "'" ? "ft" : "in"}`) : text;
  const plain = marked.replace(THOUSANDS, (whole) => whole.replace(/\s/g, "")).replace(DECIMAL_COMMA, "$1.$2");
  if (plain.includes(",")) return { fault: say("want-point") };
  const found = plain.match(NUMBER_AND_UNIT);
  if (!found) return { fault: say("want-number-unit", { units: list }) };
  if (found[2] === undefined) return { fault: say("want-unit", { units: list, example }) };
  if (!Object.hasOwn(units, found[2])) return { fault: say("want-known-unit", { unit: found[2], units: list }) };
  const number = Number(found[1]);
  const si = units[found[2]] === null ? (Math.atan(number / 100) * 180) / Math.PI : number * units[found[2]];
  return { si, number: found[1], unit: found[2] };
}

/** SI value of a field that is a quantity; undefined where it is blank or cannot be read. */
function siOf(holder, kind, name) {
  const value = holder?.[name];
  return filled(value) ? readQuantity(value, kind).si : undefined;
}

/** Whether a text is a day that the calendar has. */
function isDay(text) {
  const found = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
  if (!found || found[1] === "0000") return false;
  const day = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(day.getTime()) && day.toISOString().slice(0, 10) === text;
}

const latestDayOnEarth = () => new Date(Date.now() + 14 * 3600e3).toISOString().slice(0, 10);
function today() {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
}
const daysBetween = (from, to) => Math.round((Date.parse(to) - Date.parse(from)) / 86400e3);

/** What is wrong with one answer by itself, as a sentence; "" where nothing is. */
function faultOf(field, value) {
  if (!filled(value)) return "";
  switch (field.kind) {
    case "quantity": return quantityFault(field, value);
    case "date": return isDay(value) ? "" : say("want-date");
    case "time": return /^([01]\d|2[0-3]):[0-5]\d$/.test(value) ? "" : say("want-time");
    case "code": return CODE.test(value) && value.length <= LONGEST_CODE ? "" : say("want-code");
    case "number": return numberFault(field, value, WHOLE.test(value) || DECIMAL.test(value));
    case "whole number": return numberFault(field, value, WHOLE.test(value));
    case "choice": return field.choices.includes(value) ? "" : say("want-choice");
    case "yes or no": return typeof value === "boolean" ? "" : say("want-choice");
    case "points": return pointsFault(value);
    case "table": return typeof value === "string" ? say("want-block") : "";
    case "text": return textFault(field, value);
    default: return "";
  }
}

function quantityFault(field, value) {
  const read = readQuantity(value, field.of, field.example);
  if (read.fault) return read.fault;
  const hair = 1e-9 * Math.max(Math.abs(field.least), Math.abs(field.most));
  return read.si >= field.least - hair && read.si <= field.most + hair ? "" : say("want-between", field);
}

function numberFault(field, value, isNumber) {
  if (String(value).includes(",")) return say("want-point");
  return isNumber && Number(value) >= field.low && Number(value) <= field.high ? "" : say("want-plain-between", field);
}

function textFault(field, value) {
  if (!String(value).trim()) return say("want-text");
  if (field.name === "country" && !/^[A-Z]{2}$/.test(value)) return say("want-country");
  if (field.name === "time_zone" && !isTimeZone(value)) return say("want-zone");
  const longest = field.name === "path" ? LONGEST_PATH : LONGEST_TEXT;
  if ([...String(value)].length > longest) return say("want-shorter", { most: longest });
  const reaches = /^[/~]|[\\:]/.test(value) || String(value).split("/").includes("..");
  return field.name === "path" && reaches ? say("want-path") : "";
}

function isTimeZone(name) {
  try {
    return Boolean(new Intl.DateTimeFormat("en", { timeZone: name })) && !/^[+-]/.test(name);
  } catch {
    return false;
  }
}

function pointsFault(points) {
  const good = (text, most) => (WHOLE.test(text) || DECIMAL.test(text)) && Math.abs(Number(text)) <= most;
  const fits = Array.isArray(points) && points.every((p) => Array.isArray(p) && p.length === 2 && good(p[0], 90) && good(p[1], 180));
  return fits ? "" : say("want-points");
}
