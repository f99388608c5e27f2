// Keeps every keystroke on this device: in IndexedDB, else in local storage, else it says that nothing is kept.
const STORE = "siteassess-form";

class Keeper {
  constructor() {
    this.base = null;
    this.how = "none";
    this.waiting = null;
    this.writing = false;
  }

  async open() {
    try {
      this.base = await new Promise((done, fail) => {
        const asked = indexedDB.open(STORE, 1);
        asked.onupgradeneeded = () => ["kept", "photos"].forEach((name) => asked.result.createObjectStore(name));
        asked.onsuccess = () => done(asked.result);
        asked.onerror = () => fail(asked.error);
        asked.onblocked = () => fail(new Error("blocked"));
      });
      this.how = "base";
    } catch {
      this.how = localStorageWorks() ? "local" : "none";
    }
  }

  /** Runs one step on a store and waits until it is written. */
  step(store, mode, act) {
    return new Promise((done, fail) => {
      const work = this.base.transaction(store, mode);
      const asked = act(work.objectStore(store));
      work.oncomplete = () => done(asked?.result);
      work.onerror = work.onabort = () => fail(work.error);
    });
  }

  async load() {
    if (this.how === "base") return this.step("kept", "readonly", (store) => store.get("state"));
    const text = this.how === "local" ? localStorage.getItem(STORE) : null;
    return text ? JSON.parse(text) : undefined;
  }

  /** Keeps the newest state; while one is being written, only the last of those that follow is. */
  async keep(state) {
    this.waiting = JSON.stringify(state);
    if (this.writing) return;
    this.writing = true;
    try {
      while (this.waiting !== null) {
        const text = this.waiting;
        this.waiting = null;
        if (this.how === "base") await this.step("kept", "readwrite", (store) => store.put(JSON.parse(text), "state"));
        else if (this.how === "local") localStorage.setItem(STORE, text);
      }
    } catch {
      this.how = "none";
    } finally {
      this.writing = false;
    }
    showKeeping();
  }

  async photo(path) {
    return this.how === "base" ? this.step("photos", "readonly", (store) => store.get(path)) : memoryPhotos.get(path);
  }

  /** Keeps a photo; false where only this open page holds it. */
  async keepPhoto(path, blob) {
    memoryPhotos.set(path, blob);
    if (this.how !== "base") return false;
    try {
      await this.step("photos", "readwrite", (store) => store.put(blob, path));
      return true;
    } catch {
      return false;
    }
  }

  async dropPhotos(paths) {
    paths.forEach((path) => memoryPhotos.delete(path));
    if (this.how === "base") await this.step("photos", "readwrite", (store) => paths.forEach((path) => store.delete(path)));
  }

  async photoPaths() {
    return this.how === "base" ? this.step("photos", "readonly", (store) => store.getAllKeys()) : [...memoryPhotos.keys()];
  }
}

const memoryPhotos = new Map();
const keeper = new Keeper();

function localStorageWorks() {
  try {
    localStorage.setItem(`${STORE}-try`, "1");
    localStorage.removeItem(`${STORE}-try`);
    return true;
  } catch {
    return false;
  }
}

// ---- the state: the record, what was opened, and whether it was handed over since

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
  keeper.keep(state);
  refreshSoon();
}

function showKeeping() {
  const kept = document.getElementById("kept");
  const how = { base: "kept-here", local: "kept-local", none: "not-kept" }[keeper.how];
  kept.textContent = say(reopened && keeper.how !== "none" ? "reopened" : how);
  kept.classList.toggle("warns", keeper.how === "none");
}

// a page that is closed takes unsaved work with it only if the person says so
addEventListener("beforeunload", (event) => {
  if (state.handed) return;
  event.preventDefault();
  event.returnValue = "";
});
