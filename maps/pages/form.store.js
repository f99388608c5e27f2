// Where works lie on this device: in IndexedDB, and in a journal in local storage that is written before a key's event ends.
const STORE = "siteassess-form", FIRST = "state", LATEST = "latest";

const randomName = () => Array.from(crypto.getRandomValues(new Uint32Array(2)), (part) => part.toString(36)).join("");

// A work is {id, seen, at, state}. What it has seen is its revision: how many changes of each opened page are in it. One
// revision holds another if none of its counts is lower. Where neither holds the other, the work was changed in two pages
// apart, and neither may be written over the other.
const holds = (one, other) => Object.entries(other).every(([page, count]) => (one[page] ?? 0) >= count);

/** A work as it was read; a first release kept the bare state. */
const asWork = (found, id) => (found?.state ? found : { id, seen: {}, at: "", state: found });
const isWork = (work) => Array.isArray(work.state?.record?.anchors);

function tried(act) {
  try {
    act();
    return true;
  } catch {
    return false;
  }
}

/** Local storage and the tab's own; a browser that refuses one is as one without it. */
function stores() {
  const none = { setItem() { throw new Error("none"); }, getItem: () => null, removeItem() {} };
  return ["localStorage", "sessionStorage"].map((name) => {
    let store = none;
    tried(() => (store = globalThis[name] ?? none));
    return store;
  });
}

// ---- the journal: one entry a page, so that no page ever writes over another's

const journal = {
  key: (page) => `${STORE}/${page}`,

  /** Whether it lies in local storage. Where that is full it goes into the tab's own store, which outlasts a reload alone. */
  write(page, work) {
    const text = JSON.stringify(work);
    const [local, own] = stores().map((store) => () => store.setItem(this.key(page), text));
    if (tried(local)) return true;
    tried(own);
    return false;
  },

  drop(page) {
    stores().forEach((store) => store.removeItem(page ? this.key(page) : STORE));
  },

  /** All entries as [page, work], the oldest first; what cannot be read is left where it lies. */
  entries() {
    const found = [];
    for (const [index, store] of stores().entries()) {
      for (const key of Object.keys(store)) {
        const first = key === STORE && index === 0; // as the first release wrote it
        if (first || key.startsWith(this.key(""))) tried(() => found.push([key.slice(this.key("").length), asWork(JSON.parse(store.getItem(key)), FIRST)]));
      }
    }
    return found.filter(([, work]) => isWork(work)).sort(([, one], [, other]) => (one.at < other.at ? -1 : 1));
  },
};

/** Takes journal entries into a map of works by id: over what they hold, beside what they do not. Tells the ids altered. */
function takeIn(works, entries) {
  const altered = new Set();
  for (const [page, work] of entries) {
    if (page && [...works.values()].some((one) => holds(one.seen, work.seen))) continue; // it is all in there already
    const kept = works.get(work.id);
    const id = !kept || (page && holds(work.seen, kept.seen)) ? work.id : `copy-${page}`;
    works.set(id, { ...work, id });
    altered.delete(id);
    altered.add(id);
  }
  return altered;
}

// ---- the base

class Base {
  async open() {
    this.link = await new Promise((done, fail) => {
      const asked = indexedDB.open(STORE, 1);
      asked.onupgradeneeded = () => ["kept", "photos"].forEach((name) => asked.result.createObjectStore(name));
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => fail(asked.error);
      asked.onblocked = () => fail(new Error("blocked"));
    });
    // cleared by the person or the browser: what this page holds is written anew
    this.link.onclose = () => {
      this.link = undefined;
      keeper.change();
    };
    this.link.onversionchange = () => {
      this.link?.close();
      this.link = undefined;
    };
  }

  /** Runs one step on stores and waits until it lies on the disk. */
  async step(stores, mode, act) {
    if (!this.link) await this.open();
    const { link } = this, ended = new AbortController();
    return new Promise((done, fail) => {
      // of a base that is cleared in mid-step no other event tells
      link.addEventListener("close", () => fail(new Error("closed")), { signal: ended.signal });
      const work = link.transaction(stores, mode, { durability: "strict" });
      const asked = act(...stores.map((name) => work.objectStore(name)));
      work.oncomplete = () => done(asked?.result);
      work.onabort = () => fail(work.error ?? new Error("aborted"));
    }).finally(() => ended.abort());
  }

  /** Every work by its id, and which was written last. */
  async works() {
    const all = new Map();
    await this.step(["kept"], "readonly", (store) => eachWork(store, all));
    const latest = all.get(LATEST);
    all.delete(LATEST);
    return { works: all, latest };
  }

  /** The same, once the journals of ended pages are taken in. */
  async gather(entries) {
    const all = new Map();
    await this.step(["kept"], "readwrite", (store) => eachWork(store, all, () => {
      const latest = all.get(LATEST);
      all.delete(LATEST);
      for (const id of takeIn(all, entries)) {
        store.put(all.get(id), id);
        store.put(id, LATEST);
        all.set(LATEST, id);
      }
      if (latest !== undefined && !all.has(LATEST)) all.set(LATEST, latest);
    }));
    const latest = all.get(LATEST);
    all.delete(LATEST);
    return { works: all, latest };
  }

  /**
   * Writes a work where nothing is kept that it has not seen; checked and written in one transaction, so that no other
   * page comes between. `make` gives the work as it is at that moment and whether anything in it is not kept yet; with
   * news it is put under a name of its own rather than over what another page kept, without it is left.
   */
  async write(make) {
    let told;
    await this.step(["kept"], "readwrite", (store) => {
      const id = make().work.id;
      store.get(id).onsuccess = ({ target }) => {
        const { work, news } = make();
        const kept = target.result && asWork(target.result, id);
        const apart = Boolean(kept) && !holds(work.seen, kept.seen);
        told = { seen: work.seen, id, behind: apart && (!news || holds(kept.seen, work.seen)) };
        if (told.behind || (!kept && !news)) return;
        if (apart) told.id = work.id = `copy-${randomName()}`;
        store.put(work, work.id);
        if (news) store.put(work.id, LATEST);
      };
    });
    return told;
  }

  async remove(id, photos) {
    await this.step(["kept", "photos"], "readwrite", (kept, pictures) => {
      kept.delete(id);
      photos.forEach((path) => pictures.delete(path));
    });
  }
}

function eachWork(store, all, then) {
  store.openCursor().onsuccess = ({ target }) => {
    const cursor = target.result;
    if (!cursor) return then?.();
    all.set(cursor.key, cursor.key === LATEST ? cursor.value : asWork(cursor.value, cursor.key));
    cursor.continue();
  };
}
