"""A form of the first release (0.1.0), cut down to one field and to how it keeps, which stands here as it was released.

Import as `from form_first import ...`; the tests folder is on the path (see pyproject.toml).
"""

FIRST_RELEASE = """<!DOCTYPE html><title>first</title><body>
<nav><button data-screen="site"></button></nav><input id="f-site-name">
<script>
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
      this.how = "local";
    }
  }

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
  }

  async keepPhoto(path, blob) {
    await this.step("photos", "readwrite", (store) => store.put(blob, path));
  }

  async dropPhotos(paths) {
    if (this.how !== "base") return;
    await this.step("photos", "readwrite", (store) => paths.forEach((path) => store.delete(path)));
  }

  async photoPaths() {
    return this.how === "base" ? this.step("photos", "readonly", (store) => store.getAllKeys()) : [];
  }
}

const keeper = new Keeper(), field = document.getElementById("f-site-name");
const emptyRecord = () => ({ site: {}, survey: {}, anchors: [], lines: [] });
let state = { record: emptyRecord(), mode: "quick", screen: "site", open: {}, handed: true };

field.oninput = () => {
  state.record.site.name = field.value;
  keeper.keep(state);
};

async function takePhoto() {
  await keeper.keepPhoto("photos/T1-1.jpg", new Blob(["a picture"]));
  state.record.anchors = [{ kind: "tree", code: "T1", photos: [{ path: "photos/T1-1.jpg" }] }];
  await keeper.keep(state);
}

async function startAgain() {
  await keeper.dropPhotos(await keeper.photoPaths());
  state = { ...state, record: emptyRecord() };
  await keeper.keep(state);
}

globalThis.siteassessForm = { record: () => state.record, takePhoto, startAgain, isKept: () => !keeper.writing };
keeper.open().then(() => keeper.load()).then((kept) => {
  state = { ...state, ...kept };
  field.value = state.record.site.name ?? "";
  document.body.dataset.ready = "yes";
});
</script>
"""
