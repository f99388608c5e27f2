// Keeps every keystroke: first in the journal, while the key's event still runs, then in the base; and knows what is kept where.
const memoryPhotos = new Map(); // photos the base has not taken yet
const LONGEST_WAIT_MS = 15e3;
const SLOW_MS = 3e3, SLOW_ALONE_MS = 500; // until a write that takes long is told; sooner where no journal holds the text

class Keeper {
  constructor() {
    this.base = typeof indexedDB === "undefined" ? undefined : new Base();
    this.journaled = journal.write("try", {});
    journal.drop("try");
    this.failing = 0; // attempts to write that failed in a row
    this.slow = false;
    this.writing = undefined;
    this.twins = 0; // other open pages with the same work
    this.takeUp(FIRST, {});
  }

  /** From here on this page changes that work; its own count begins anew, so that no other work seems to hold it. */
  takeUp(id, seen) {
    Object.assign(this, { id, seen, page: randomName(), count: 0, kept: 0, views: 0, viewsKept: 0, behind: false, apart: false });
  }

  entry() {
    const seen = this.count ? { ...this.seen, [this.page]: this.count } : this.seen;
    return { id: this.id, seen, at: new Date().toISOString(), state };
  }

  // ---- at the start

  async open() {
    this.hear();
    const { works, latest } = await this.gather();
    const [id, page] = this.marked();
    const counted = [...works.values()].filter((work) => isWork(work) && work.seen[page]);
    // what this tab was typing comes first, also where it had to be kept under another name
    const most = Math.max(...counted.map((work) => work.seen[page]));
    const own = counted.filter((work) => work.seen[page] === most);
    const work = own.find((one) => one.id === id) ?? own[0] ?? works.get(id ?? latest ?? FIRST);
    this.takeUp(work?.id ?? id ?? latest ?? FIRST, work?.seen ?? {});
    await this.hold();
    this.mark();
    this.ready = true;
    this.persisted = await navigator.storage?.persisted?.().catch(() => false);
    return work && isWork(work) ? work.state : undefined;
  }

  async gather() {
    const entries = journal.entries();
    const ended = endedOf(await pagesHeld(), entries);
    // a base that another browser process still holds as it ends opens a moment later
    for (let wait = 100; this.base && wait < 2000; wait *= 2) {
      try {
        const found = await this.base.gather(ended);
        ended.forEach(([page]) => journal.drop(page));
        this.failing = 0;
        return found;
      } catch {
        this.failing += 1;
        await new Promise((go) => setTimeout(go, wait));
      }
    }
    const found = (await this.base?.works().catch(() => undefined)) ?? { works: new Map() };
    const altered = [...takeIn(found.works, entries)];
    // without a base the journal is all there is: what a later entry holds may go
    const held = ([page, work]) => entries.some(([other, one]) => other !== page && holds(one.seen, work.seen));
    if (!this.base) ended.filter(held).forEach(([page]) => journal.drop(page));
    return { works: found.works, latest: altered.at(-1) ?? found.latest };
  }

  /** Which work this tab shows outlasts a reload, together with the page's name. */
  mark() {
    try {
      sessionStorage.setItem(STORE, JSON.stringify([this.id, this.page]));
    } catch { /* then the last one written is opened */ }
  }

  marked() {
    try {
      return JSON.parse(sessionStorage.getItem(STORE)) ?? [];
    } catch {
      return [];
    }
  }

  // ---- writing

  /** Something was typed: it is in the journal when this returns. */
  change() {
    this.count += 1;
    this.journaled = journal.write(this.page, this.entry());
    if (!this.base) {
      this.tell("wrote");
      this.look(false);
    }
    return this.flush();
  }

  /** Only what is open or shown has altered: kept if nothing stands against it. */
  view() {
    this.views += 1;
    return this.flush();
  }

  isDone() {
    return this.kept === this.count && this.viewsKept === this.views && !memoryPhotos.size;
  }

  /** Where the last keystroke lies: "base", "local" (the journal) or "none" (this open page alone). */
  where() {
    if (this.base?.link && (this.kept === this.count || (!this.failing && !this.slow))) return "base";
    return this.journaled ? "local" : "none";
  }

  /** Writes until all is kept; what fails is tried again, later and later, and at the next keystroke. */
  flush() {
    clearTimeout(this.again);
    if (!this.base) showKeeping();
    else this.writing ??= this.writeAll().finally(() => (this.writing = undefined)).then(showKeeping);
    return this.writing;
  }

  async writeAll() {
    const slow = setTimeout(() => {
      this.slow = true;
      showKeeping();
    }, this.journaled ? SLOW_MS : SLOW_ALONE_MS);
    try {
      while (!this.isDone()) await this.writeOnce();
      journal.drop(this.page);
      this.failing = 0;
    } catch {
      this.failing += 1;
      this.again = setTimeout(() => this.flush(), Math.min(500 * 2 ** this.failing, LONGEST_WAIT_MS));
    }
    clearTimeout(slow);
    this.slow = false;
  }

  async writeOnce() {
    const { page } = this;
    let count, views;
    const told = await this.base.write(() => {
      ({ count, views } = this);
      return { work: this.entry(), news: this.count > this.kept };
    });
    if (page !== this.page) return;
    const news = count > this.kept;
    this.kept = count;
    this.viewsKept = views;
    if (told.behind) {
      this.look();
    } else {
      this.seen = told.seen;
      if (told.id !== this.id) this.partFrom(told.id);
      if (news) this.tell("wrote");
    }
    if (this.twins) this.lookAround(); // a page that was killed says no word
    for (const [path, blob] of memoryPhotos) {
      await this.base.step(["photos"], "readwrite", (store) => store.add(blob, path));
      memoryPhotos.delete(path);
    }
  }

  /** Both pages changed the work: this one's goes on under a name of its own. */
  partFrom(id) {
    this.id = id;
    this.apart = true;
    this.behind = false;
    this.mark();
    this.hold();
  }

  /** Whether this page may leave its work: once all of it is kept elsewhere than in this page. */
  async mayLeave() {
    await this.flush();
    return this.count === this.kept || this.journaled;
  }

  /** Leaves the work to what is kept of it and takes up another one, or a new one. */
  async switchTo(id = `work-${randomName()}`, seen = {}) {
    this.takeUp(id, seen);
    this.mark();
    await this.hold();
  }

  // ---- other pages of this form on the same device

  hear() {
    if (typeof BroadcastChannel === "undefined") return;
    this.channel = new BroadcastChannel(STORE);
    this.channel.onmessage = ({ data }) => {
      setTimeout(() => this.lookAround(), 100); // a lock falls a moment after it was let go
      if (data.what === "wrote" && data.id === this.id) this.look();
    };
  }

  tell(what) {
    this.channel?.postMessage({ what, id: this.id });
  }

  /** Holds a lock in the names of page and work while both are open here; it falls with the page, however that ends. */
  async hold() {
    const before = this.release;
    await new Promise((held) => {
      const waiting = navigator.locks?.request(`${STORE}/${this.page}/${this.id}`, () => {
        held();
        return new Promise((release) => (this.release = release));
      });
      waiting?.catch(held) ?? held();
    });
    before?.();
    this.tell("here");
    this.lookAround();
  }

  async lookAround() {
    const alive = await pagesHeld(), before = this.twins;
    this.twins = alive.filter(({ page, id }) => id === this.id && page !== this.page).length;
    if (this.twins < before && this.base && endedOf(alive).length) {
      await this.gather(); // what the page that ended had only in its journal
      this.look();
    }
    showKeeping();
  }

  /** What another page made of the same work. */
  async newest() {
    if (this.base) return asWork(await this.base.step(["kept"], "readonly", (store) => store.get(this.id)), this.id);
    const apart = ([page, work]) => page !== this.page && work.id === this.id && !holds(this.entry().seen, work.seen);
    return journal.entries().filter(apart).at(-1)?.[1];
  }

  /** Shows what another page added, where nobody is typing here; says so where somebody may be. */
  async look(now = !document.hasFocus()) {
    const { page } = this;
    const work = this.ready && (await this.newest().catch(() => undefined));
    if (page !== this.page) return; // something else is shown by now
    const { seen } = this.entry();
    this.behind = Boolean(work) && isWork(work) && !holds(seen, work.seen);
    if (this.behind && !holds(work.seen, seen)) {
      if (!this.base) this.partFrom(`copy-${randomName()}`);
      this.change(); // two lines of change: kept apart (a base finds so by itself)
    } else if (this.behind && now) {
      this.behind = false;
      this.seen = work.seen;
      this.kept = this.count;
      state = { ...state, record: work.state.record, handed: work.state.handed };
      drawInPlace();
    }
    showKeeping();
  }

  /** The page leaves the screen: others may take in its journal, and the browser may set it aside whole. */
  leave() {
    this.tell("gone");
    this.release?.();
    this.channel?.close();
    this.release = this.channel = undefined;
  }

  /** The page comes back as it was left. */
  async comeBack() {
    this.hear();
    await this.hold();
    if (this.count > this.kept && this.base) {
      const { works } = await this.base.works().catch(() => ({ works: new Map() }));
      const held = [...works.values()].find((work) => holds(work.seen, this.entry().seen));
      if (held) this.kept = this.count;
      if (held && held.id !== this.id) this.partFrom(held.id);
    }
    await this.look(true);
    this.flush();
  }

  /** A browser may be asked to keep what is here until it is told otherwise; not before there is something to keep. */
  async askToPersist() {
    if (this.persisted !== false || this.asked) return;
    this.asked = true;
    this.persisted = Boolean(await navigator.storage.persist?.().catch(() => false));
    showKeeping();
  }

  // ---- works beside this one, and photos

  async others() {
    const { works } = (await this.base?.works().catch(() => undefined)) ?? { works: new Map() };
    takeIn(works, journal.entries());
    return [...works.values()].filter((work) => work.id !== this.id && isWork(work) && hasAnything(work.state.record));
  }

  /** Takes a work away for good, with the photos that no other one names. */
  async remove(work) {
    const staying = [state.record, ...(await this.others()).filter(({ id }) => id !== work.id).map((one) => one.state.record)];
    const named = new Set(staying.flatMap(allPhotos).map(({ path }) => path));
    await this.base?.remove(work.id, allPhotos(work.state.record).map(({ path }) => path).filter((path) => !named.has(path)));
    journal.entries().filter(([, one]) => one.id === work.id || holds(work.seen, one.seen)).forEach(([page]) => journal.drop(page));
  }

  async photo(path) {
    return memoryPhotos.get(path) ?? (await this.base?.step(["photos"], "readonly", (store) => store.get(path)));
  }

  /** Keeps a photo under the first free name: {path, kept}; not kept where only this open page holds it. */
  async keepPhoto(stem, taken, blob) {
    const free = (names) => {
      for (let number = 1; ; number += 1) if (!names.has(`${stem}-${number}.jpg`)) return `${stem}-${number}.jpg`;
    };
    let path;
    try {
      // looked for and taken in one transaction: two pages never give one name twice
      await this.base.step(["photos"], "readwrite", (store) => {
        store.getAllKeys().onsuccess = ({ target }) => store.add(blob, (path = free(new Set([...taken, ...target.result]))));
      });
      return { path, kept: true };
    } catch {
      path = `${stem}-${randomName().slice(0, 6)}.jpg`; // nobody can be asked which are free
      memoryPhotos.set(path, blob);
      this.flush();
      return { path, kept: false };
    }
  }
}

/** Pages of this form that are open now, {page, id}; none where the browser cannot tell. */
async function pagesHeld() {
  const told = await navigator.locks?.query().catch(() => undefined);
  return (told?.held ?? []).map(({ name }) => name.split("/")).filter(([store]) => store === STORE).map(([, page, id]) => ({ page, id }));
}

/** Journal entries of pages that are not open any more. */
const endedOf = (alive, entries = journal.entries()) => entries.filter(([page]) => !alive.some((one) => one.page === page));

const keeper = new Keeper();
addEventListener("pagehide", () => keeper.leave());
addEventListener("pageshow", ({ persisted }) => persisted && keeper.comeBack());
addEventListener("storage", ({ key }) => !keeper.base && key?.startsWith(journal.key("")) && keeper.look());
addEventListener("focus", () => {
  keeper.lookAround();
  keeper.look(true);
});
document.addEventListener("visibilitychange", () => keeper.lookAround());
