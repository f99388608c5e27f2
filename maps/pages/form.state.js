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
