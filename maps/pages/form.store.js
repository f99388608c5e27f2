// Where works lie on this device: in IndexedDB, and in a journal in local storage that is written before a key's event ends.
// The base has a name of its own: what a form of the first release keeps stands under STORE, and is left to it.
const STORE = "siteassess-form", BASE = `${STORE}-works`, LATEST = "latest", MARKS = "taken over";
const FIRST_WORK = "work"; // the work of a page that finds nothing kept

const randomName = () => Array.from(crypto.getRandomValues(new Uint32Array(2)), (part) => part.toString(36)).join("");

// A work is {id, seen, at, state}. What it has seen is its revision: how many changes of each opened page are in it. One
// revision holds another if none of its counts is lower. Where neither holds the other, the work was changed in two pages
// apart, and neither may be written over the other.
const holds = (one, other) => Object.entries(other).every(([page, count]) => (one[page] ?? 0) >= count);

const isWork = (work) => Array.isArray(work?.state?.record?.anchors);

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

  /** Lets an entry go; of another page's only what was read of it, since that page may be open after all. */
  drop(page, text) {
    for (const store of stores()) if (text === undefined || store.getItem(this.key(page)) === text) store.removeItem(this.key(page));
  },

  /** All entries as [page, work, its text], the oldest first; what cannot be read is left where it lies. */
  entries() {
    const found = [];
    for (const store of stores()) {
      for (const key of Object.keys(store).filter((one) => one.startsWith(this.key("")))) {
        const text = store.getItem(key);
        tried(() => found.push([key.slice(this.key("").length), JSON.parse(text), text]));
      }
    }
    return found.filter(([, work]) => isWork(work)).sort(([, one], [, other]) => (one.at < other.at ? -1 : 1));
  },

  /** Where there is no base, what the first release keeps in local storage goes on here. */
  takeOver(states) {
    const [local] = stores(), key = `${STORE} ${MARKS}`;
    tried(() => {
      const marks = JSON.parse(local.getItem(key)) ?? {};
      const first = takenOver(states, marks, new Map(this.entries().map(([, work]) => [work.id, work])));
      for (const [page, work] of first) local.setItem(this.key(page), JSON.stringify(work));
      if (first.length) local.setItem(key, JSON.stringify(marks));
    });
  },
};

/** Takes journal entries into a map of works by id: over what they hold, beside what they do not. Tells the ids altered. */
function takeIn(works, entries) {
  const altered = new Set();
  for (const [page, work] of entries) {
    if ([...works.values()].some((one) => holds(one.seen, work.seen))) continue; // it is all in there already
    const kept = works.get(work.id);
    const id = !kept || holds(work.seen, kept.seen) ? work.id : `copy-${page}`;
    works.set(id, { ...work, id });
    altered.delete(id);
    altered.add(id);
  }
  return altered;
}

// ---- what a form of the first release keeps

/** Its states by their key, {state, photos}: the bare one of its base, and the one of local storage. */
async function firstStates() {
  const found = new Map(), photos = new Map();
  tried(() => found.set("local", { state: JSON.parse(stores()[0].getItem(STORE)), photos }));
  const link = typeof indexedDB === "undefined" ? undefined : await new Promise((done) => {
    const asked = indexedDB.open(STORE);
    asked.onupgradeneeded = () => asked.transaction.abort(); // there is none, and none is made
    asked.onsuccess = () => done(asked.result);
    asked.onerror = asked.onblocked = () => done(undefined);
  }).catch(() => undefined); // a browser may refuse outright: then the first release kept in local storage
  const names = ["kept", "photos"];
  if (!names.every((name) => link?.objectStoreNames.contains(name))) return found;
  const takes = [(key, state) => found.set(key, { state: state?.state ?? state, photos }), (path, blob) => photos.set(path, blob)];
  await new Promise((done) => {
    const work = link.transaction(names, "readonly");
    names.forEach((name, index) => (work.objectStore(name).openCursor().onsuccess = ({ target: { result } }) => {
      if (!result) return;
      takes[index](result.key, result.value);
      result.continue();
    }));
    work.oncomplete = work.onabort = done;
  });
  link.close();
  return found;
}

/**
 * What of them is new here, as entries with the photos they name: each goes on as a work of its own, once for every time
 * it was changed there. As long as nobody typed on in that work it follows. The marks tell what was taken over, and altered.
 */
function takenOver(states, marks, works) {
  const entries = [];
  for (const [key, { state, photos }] of states) {
    const text = isWork({ state }) && hasAnything(state.record) && JSON.stringify(state.record);
    const before = marks[key] ?? { count: 0 };
    if (!text || text === before.text) continue;
    const page = `first-${key}`, count = before.count + 1, seen = { [page]: count }, earlier = works.get(before.id);
    const id = earlier && holds(seen, earlier.seen) ? before.id : `${page}-${count}`;
    marks[key] = { text, count, id };
    const taken = JSON.parse(JSON.stringify(state)), named = new Map();
    if (id === before.id) for (const { path } of allPhotos(earlier.state.record)) named.set(path, undefined);
    for (const photo of allPhotos(taken.record)) {
      const blob = photos.get(photo.path);
      // its own name may be taken here
      if (blob) named.set((photo.path = photo.path.replace(/(?=\.\w+$)/, `-${page}-${count}`)), blob);
    }
    entries.push([page, { id, seen, at: "", state: taken }, named]);
  }
  return entries;
}

// ---- the base

class Base {
  async open() {
    this.link = await new Promise((done, fail) => {
      const asked = indexedDB.open(BASE, 1);
      asked.onupgradeneeded = () => ["kept", "photos"].forEach((name) => asked.result.createObjectStore(name));
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => fail(asked.error);
      asked.onblocked = () => fail(new Error("blocked"));
    });
    // cleared by the person, the browser or another page: what this page holds is written anew
    this.link.onclose = this.link.onversionchange = () => {
      this.link?.close();
      this.link = undefined;
      keeper.change();
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
    return worksAmong(all);
  }

  /** The same, once the journals of ended pages are taken in, and what the first release keeps. */
  async gather(entries, states) {
    const all = new Map();
    await this.step(["kept", "photos"], "readwrite", (store, photos) => eachWork(store, all, () => {
      const { works, latest, marks } = worksAmong(all);
      const first = takenOver(states, marks, works);
      if (first.length) store.put(marks, MARKS);
      const older = [...takeIn(works, first)], newer = [...takeIn(works, entries)];
      const staying = photosIn([...works.values(), ...journal.entries().map(([, work]) => work)].filter(isWork));
      for (const [, , named] of first) named.forEach((blob, path) => (blob ? photos.put(blob, path) : staying.has(path) || photos.delete(path)));
      for (const id of [...older, ...newer]) store.put(works.get(id), id);
      all.set(LATEST, newer.at(-1) ?? latest ?? older.at(-1));
      if (older.length + newer.length) store.put(all.get(LATEST), LATEST);
      works.forEach((work, id) => all.set(id, work));
    }));
    return worksAmong(all);
  }

  /**
   * Writes a work where nothing is kept that it has not seen; checked and written in one transaction, so that no other
   * page comes between. `make` gives the work as it is at that moment and whether anything in it is not kept yet; with
   * news it is put under a name of its own rather than over what another page kept, without it is left; `gone` tells
   * that it is kept no more.
   */
  async write(make) {
    let told;
    await this.step(["kept"], "readwrite", (store) => {
      const id = make().work.id;
      store.get(id).onsuccess = ({ target }) => {
        const { work, news } = make();
        const kept = target.result;
        const apart = Boolean(kept) && !holds(work.seen, kept.seen);
        told = { seen: work.seen, id, gone: !kept && !news, behind: apart && (!news || holds(kept.seen, work.seen)) };
        if (told.behind || told.gone) return;
        if (apart) told.id = work.id = `copy-${randomName()}`;
        store.put(work, work.id);
        if (news) store.put(work.id, LATEST);
      };
    });
    return told;
  }

  /** Takes a work away as it was shown; tells whether it did, since another page may have written in it meanwhile. */
  async remove({ id, seen }, photos) {
    let same;
    await this.step(["kept", "photos"], "readwrite", (kept, pictures) => {
      kept.get(id).onsuccess = ({ target }) => {
        same = !target.result || holds(seen, target.result.seen);
        if (!same) return;
        kept.delete(id);
        photos.forEach((path) => pictures.delete(path));
      };
    });
    return same;
  }
}

function eachWork(store, all, then) {
  store.openCursor().onsuccess = ({ target }) => {
    const cursor = target.result;
    if (!cursor) return then?.();
    all.set(cursor.key, cursor.value);
    cursor.continue();
  };
}

/** The works apart from what else stands beside them in their store. */
function worksAmong(all) {
  const works = new Map(all), latest = all.get(LATEST), marks = all.get(MARKS) ?? {};
  works.delete(LATEST);
  works.delete(MARKS);
  return { works, latest, marks };
}
