// The state of the page: the record, what was opened, and whether the person has seen it arrive elsewhere since.
const emptyRecord = () => ({ site: {}, survey: {}, anchors: [], lines: [] });
let state = { record: emptyRecord(), mode: "quick", screen: "site", open: {}, handed: true };

let reopened = false; // whether what is shown was typed before this page was opened

const at = (path) => path.reduce((holder, step) => holder?.[step], state.record);

/** Puts an answer at a path, making the parts above it; nothing takes it out, with the parts it leaves empty. */
function put(path, value) {
  const holders = [state.record];
  for (const [index, step] of path.slice(0, -1).entries()) {
    const holder = holders[index];
    if (!filled(holder[step])) {
      if (!filled(value)) return;
      holder[step] = typeof path[index + 1] === "number" ? [] : {};
    }
    holders.push(holder[step]);
  }
  if (filled(value)) {
    holders.at(-1)[path.at(-1)] = value;
  } else {
    delete holders.at(-1)[path.at(-1)];
    pruneEmpty(holders, path);
  }
  changed();
}

function pruneEmpty(holders, path) {
  for (let depth = path.length - 1; depth > 0; depth -= 1) {
    const isItem = typeof path[depth - 1] === "number"; // an item of a list stays until it is taken away
    const isRoot = depth === 1;
    if (isItem || isRoot || Array.isArray(holders[depth]) || Object.keys(holders[depth]).length) return;
    delete holders[depth - 1][path[depth - 1]];
  }
}

// An item is known again by itself and not by its place: others may have come or gone before it, here or in another tab.

/** The way to an item's list: names, and of each list on the way the item that was gone into. */
const wayTo = (path) => path.slice(0, -1).map((step, index) => (typeof step === "number" ? { item: at(path.slice(0, index + 1)), index: step } : step));

/** Where that way leads now; nowhere if an item on it is gone. */
function pathBy(way) {
  const path = [];
  for (const step of way) {
    const found = typeof step === "string" ? step : indexOf(at(path) ?? [], step);
    if (found === -1) return undefined;
    path.push(found);
  }
  return path;
}

/** An item's place: the very same one, or where another tab's changes were taken in the one with its code, or like it. */
function indexOf(list, { item, index }) {
  if (item === undefined) return -1;
  const same = list.indexOf(item), code = item.code ?? item.id;
  if (same >= 0) return same;
  const like = list.flatMap((one, place) => ((filled(code) ? (one.code ?? one.id) === code : JSON.stringify(one) === JSON.stringify(item)) ? [place] : []));
  return like.length < 2 ? like[0] ?? -1 : like.includes(index) ? index : -1;
}

/** Tells where a path leads by the time what takes long has come for it; nowhere once that, or this record, is gone. */
function staying(path) {
  const { page } = keeper, way = wayTo([...path, ""]);
  return () => (page === keeper.page ? pathBy(way) : undefined);
}

function changed() {
  reopened = false;
  state.handed = false;
  keeper.change();
  refreshSoon();
}

// a page that is closed takes unsaved work with it only if the person says so
addEventListener("beforeunload", (event) => {
  if (state.handed) return;
  event.preventDefault();
  event.returnValue = "";
});
