// Other pages of this form on the same device: what they tell each other, and which of them are open.
const CALL = `${STORE} call`, ANSWER_MS = 200;

class Tabs {
  /** `named` gives this page's {page, id}; `heard` is called with what another page tells. */
  constructor(named, heard) {
    Object.assign(this, { named, heard, asked: new Map() });
    this.listen();
  }

  /** Where there is no channel, a word left in local storage reaches the others. */
  listen() {
    if (this.channel || this.stored) return;
    if (typeof BroadcastChannel === "undefined") {
      this.stored = ({ key, newValue }) => key === CALL && newValue && this.take(JSON.parse(newValue).data);
      addEventListener("storage", this.stored);
      return;
    }
    this.channel = new BroadcastChannel(STORE);
    this.channel.onmessage = ({ data }) => this.take(data);
  }

  take(data) {
    if (data.what === "who") this.tell("me");
    else if (data.what === "me") this.asked.set(data.page, data);
    else this.heard(data);
  }

  tell(what, id = this.named().id) {
    const data = { ...this.named(), what, id };
    if (this.channel) this.channel.postMessage(data);
    else if (this.stored) tried(() => stores()[0].setItem(CALL, JSON.stringify({ data, once: randomName() })));
  }

  /** Holds a lock in the names of page and work while both are open here; it falls with the page, however that ends. */
  async hold() {
    const before = this.release, { page, id } = this.named();
    await new Promise((held) => {
      const waiting = navigator.locks?.request(`${STORE}/${page}/${id}`, () => {
        held();
        return new Promise((release) => (this.release = release));
      });
      waiting?.catch(held) ?? held();
    });
    before?.();
    this.tell("here");
  }

  /** The page leaves the screen: the browser may set it aside whole. */
  leave() {
    this.tell("gone");
    this.release?.();
    this.channel?.close();
    removeEventListener("storage", this.stored);
    this.release = this.channel = this.stored = undefined;
  }

  /** Pages that are open now, {page, id}: by their locks; where the browser has none, those that answer. */
  async open() {
    const told = await navigator.locks?.query().catch(() => undefined);
    if (told) return told.held.map(({ name }) => name.split("/")).filter(([store]) => store === STORE).map(([, page, id]) => ({ page, id }));
    this.asking ??= this.ask().finally(() => (this.asking = undefined));
    return this.asking;
  }

  async ask() {
    this.asked.clear();
    this.tell("who");
    await new Promise((go) => setTimeout(go, ANSWER_MS));
    return [this.named(), ...this.asked.values()];
  }

  /** Journal entries of pages that are not open any more. */
  async ended(entries = journal.entries()) {
    const pages = new Set((await this.open()).map(({ page }) => page));
    return entries.filter(([page]) => !pages.has(page));
  }
}
