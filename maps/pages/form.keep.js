// Keeps every keystroke: first in the journal, while the key's event still runs, then in the base; and knows what is kept where.
const memoryPhotos = new Map(); // photos the base has not taken yet
const LONGEST_WAIT_MS = 15e3;
const WRITING_MS = 100; // a keystroke that is not confirmed by then is told as being written
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
    this.takeUp(FIRST_WORK, {});
    this.tabs = new Tabs(() => ({ page: this.page, id: this.id }), (told) => this.hear(told));
  }

  /** From here on this page changes that work; its own count begins anew, so that no other work seems to hold it. */
  takeUp(id, seen) {
    Object.assign(this, { id, seen, page: randomName(), count: 0, kept: 0, views: 0, viewsKept: 0, behind: false, apart: false, met: false, gone: false });
    this.confirmed();
  }

  entry() {
    const seen = this.count ? { ...this.seen, [this.page]: this.count } : this.seen;
    return { id: this.id, seen, at: new Date().toISOString(), state };
  }

  // ---- at the start

  async open() {
    const { works, latest } = await this.gather(await firstStates().catch(() => undefined));
    const [id, page] = this.marked();
    const counted = [...works.values()].filter((work) => isWork(work) && work.seen[page]);
    // what this tab was typing comes first, also where it had to be kept under another name
    const most = Math.max(...counted.map((work) => work.seen[page]));
    const own = counted.filter((work) => work.seen[page] === most);
    const work = own.find((one) => one.id === id) ?? own[0] ?? works.get(id ?? latest);
    this.takeUp(work?.id ?? id ?? latest ?? FIRST_WORK, work?.seen ?? {});
    this.met = Boolean(work && this.base?.link); // found in the base: if it is there no more, it was removed
    await this.hold();
    this.mark();
    this.ready = true;
    this.persisted = await navigator.storage?.persisted?.().catch(() => false);
    return work && isWork(work) ? work.state : undefined;
  }

  /** Every work, once what ended pages left and what the first release keeps is taken in. */
  async gather(first = new Map()) {
    let entries = journal.entries();
    const ended = await this.tabs.ended(entries);
    // a base that another browser process still holds as it ends opens a moment later
    for (let wait = 100; this.base && wait < 2000; wait *= 2) {
      try {
        const found = await this.base.gather(ended, first);
        ended.forEach(([page, , text]) => journal.drop(page, text));
        if (!this.ready) this.failing = 0; // later it tells nothing of what this page has to write
        return found;
      } catch {
        if (!this.ready) this.failing += 1;
        await new Promise((go) => setTimeout(go, wait));
      }
    }
    const found = (await this.base?.works().catch(() => undefined)) ?? { works: new Map() };
    journal.takeOver(new Map([...first].filter(([key]) => key === "local")));
    entries = journal.entries();
    const altered = [...takeIn(found.works, entries)];
    // without a base the journal is all there is: what a later entry holds may go
    const held = ([page, work]) => entries.some(([other, one]) => other !== page && holds(one.seen, work.seen));
    if (!this.base) ended.filter(held).forEach(([page, , text]) => journal.drop(page, text));
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
    this.since ??= performance.now();
    this.watch();
    if (!this.base) {
      this.tabs.tell("wrote");
      this.look(false);
    }
    return this.flush();
  }

  /** Only what is open or shown has altered: kept if nothing stands against it. */
  view() {
    this.views += 1;
    return this.flush();
  }

  /** Tells once the first keystroke that no write has taken along yet, or that one is under way with, waits too long. */
  watch() {
    if (!this.base) return;
    this.watching ??= setTimeout(() => {
      this.pending = true;
      showKeeping();
    }, WRITING_MS - (performance.now() - this.since));
  }

  /** A write has ended, with all that was typed before it began. */
  confirmed() {
    clearTimeout(this.watching);
    this.watching = undefined;
    this.pending = false;
    if (this.count > this.kept) this.watch();
    else this.since = undefined;
  }

  isDone() {
    return this.kept === this.count && this.viewsKept === this.views && !memoryPhotos.size;
  }

  /** Where the last keystroke lies: "base", "local" (the journal) or "none" (this open page alone). */
  where() {
    if (this.gone) return "none";
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
      this.since = undefined; // from here on, the first keystroke that is not in this write
      return { work: this.entry(), news: this.count > this.kept };
    });
    if (page !== this.page) return;
    const news = count > this.kept;
    this.kept = count;
    this.viewsKept = views;
    this.gone = told.gone && this.met;
    this.met ||= !told.gone;
    this.confirmed();
    if (told.behind) {
      this.look();
    } else {
      this.seen = told.seen;
      if (told.id !== this.id) this.partFrom(told.id);
      if (news) this.tabs.tell("wrote");
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
    this.look(false); // it may have been written in, or removed, since it was read
  }

  // ---- other pages of this form on the same device

  hear({ what, id }) {
    setTimeout(() => this.lookAround(), 100); // a lock falls a moment after it was let go
    if (id !== this.id || !["wrote", "removed"].includes(what)) return;
    this.met ||= what === "removed";
    this.look();
  }

  async hold() {
    await this.tabs.hold();
    this.lookAround();
  }

  async lookAround() {
    const before = this.twins;
    this.twins = await this.openElsewhere(this.id);
    if (this.twins < before && this.base && (await this.tabs.ended()).length) {
      await this.gather(); // what the page that ended had only in its journal
      this.look();
    }
    showKeeping();
  }

  /** In how many other pages a work is open. */
  async openElsewhere(id) {
    return (await this.tabs.open()).filter((one) => one.id === id && one.page !== this.page).length;
  }

  /** What another page made of the same work. */
  async newest() {
    if (this.base) return this.base.step(["kept"], "readonly", (store) => store.get(this.id));
    const apart = ([page, work]) => page !== this.page && work.id === this.id && !holds(this.entry().seen, work.seen);
    return journal.entries().filter(apart).at(-1)?.[1];
  }

  /** Shows what another page added, where nobody is typing here; says so where somebody may be. */
  async look(now = !document.hasFocus()) {
    const { page } = this;
    const none = {}; // a base that does not answer tells nothing
    const work = this.ready ? await this.newest().catch(() => none) : none;
    if (page !== this.page) return; // something else is shown by now
    const { seen } = this.entry();
    this.met ||= isWork(work);
    this.gone = this.met && !work && this.count === this.kept;
    this.behind = isWork(work) && !holds(seen, work.seen);
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

  /** The page comes back as it was left. */
  async comeBack() {
    this.tabs.listen();
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
    const { works } = await this.gather(); // what ended pages left is in the base before it is shown as kept
    takeIn(works, journal.entries());
    return [...works.values()].filter((work) => work.id !== this.id && isWork(work) && hasAnything(work.state.record));
  }

  /**
   * Takes a work away for good, as it was shown, with the photos that no other one names. Tells the key of what stands
   * against it: open in another page, or changed since.
   */
  async remove(work) {
    if (await this.openElsewhere(work.id)) return "remove-open";
    const named = photosIn([{ state }, ...(await this.others()).filter(({ id }) => id !== work.id)]);
    const photos = allPhotos(work.state.record).map(({ path }) => path).filter((path) => !named.has(path));
    if (journal.entries().some(([, one]) => one.id === work.id && !holds(work.seen, one.seen))) return "remove-changed";
    if (this.base && !(await this.base.remove(work, photos))) return "remove-changed";
    const left = (await this.tabs.ended()).filter(([, one]) => holds(work.seen, one.seen));
    left.forEach(([page, , text]) => journal.drop(page, text));
    this.tabs.tell("removed", work.id);
    return "";
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
      // nobody can be asked which are free
      path = `${stem}-${randomName().slice(0, 6)}.jpg`;
      memoryPhotos.set(path, blob);
      this.flush();
      return { path, kept: false };
    }
  }
}

const keeper = new Keeper();
addEventListener("pagehide", () => keeper.tabs.leave());
addEventListener("pageshow", ({ persisted }) => persisted && keeper.comeBack());
addEventListener("storage", ({ key }) => !keeper.base && key?.startsWith(journal.key("")) && keeper.look());
addEventListener("focus", () => {
  keeper.lookAround();
  keeper.look(true);
});
document.addEventListener("visibilitychange", () => {
  keeper.lookAround();
  keeper.tabs.tell("here"); // where there are no locks, a page that was set aside could not answer
});
