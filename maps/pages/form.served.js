"use strict";
// A form that the group's page served hands surveys over by itself: each is kept on the phone under a name of its own
// until the group's page has said that it has it, so that none is lost and none counts twice.
{
  const told = JSON.parse(document.getElementById("served-data").textContent), STORE = "siteassess-handing-in";
  let busy = false;

  const waiting = () => Object.keys(localStorage).filter((key) => key.startsWith(`${STORE}/`)).sort();
  const read = (key) => JSON.parse(localStorage.getItem(key) ?? "null");
  const say = (key, names = {}) => told[key].replace(/\{(\w+)\}/g, (_, name) => names[name]);
  const box = Object.assign(document.createElement("div"), { id: "handing-in" });
  box.setAttribute("role", "status");

  /** Keeps a survey for the group's page and sends what waits; answers with what to tell the person. */
  globalThis.handIn = (name, text) => {
    const id = Array.from(crypto.getRandomValues(new Uint8Array(16)), (one) => one.toString(16).padStart(2, "0")).join("");
    const same = waiting().find((key) => read(key)?.text === text);
    try {
      if (same) localStorage.setItem(same, JSON.stringify({ ...read(same), refused: undefined })); // asked for: tried again
      else localStorage.setItem(`${STORE}/${Date.now()}-${id}`, JSON.stringify({ id, name, text, by: told.by }));
    } catch {
      return say("gp-phone-full");
    }
    send();
    return say("gp-kept-to-send", { name });
  };

  globalThis.handIn.label = say("gp-hand-in-here");

  async function send() {
    show();
    if (busy) return;
    busy = true;
    try {
      for (const key of waiting()) {
        const survey = read(key); // none where another tab was faster
        if (survey && !survey.refused && !(await sent(key, survey))) break;
      }
    } finally {
      busy = false;
      show();
    }
  }

  /** Whether the next one may be tried: not without a network, nor where nobody is signed in. */
  async function sent(key, survey) {
    let answer;
    try {
      answer = await fetch("/surveys/sent", {
        method: "POST", redirect: "error", headers: { "content-type": "application/json" },
        body: JSON.stringify({ id: survey.id, name: survey.name, text: survey.text, by: survey.by }),
      });
    } catch {
      return false; // no network; the browser says when there is one
    }
    const says = await answer.json().catch(() => ({}));
    if (answer.status === 200) {
      localStorage.removeItem(key);
      line(say("gp-arrived", { name: survey.name }), says.address);
    } else if (answer.status === 403) {
      line(`${say("gp-sign-in-to-send")} (${survey.by})`, "/sign-in");
      return false;
    } else if ([400, 413, 422].includes(answer.status)) {
      localStorage.setItem(key, JSON.stringify({ ...survey, refused: says.why || String(answer.status) }));
    } else {
      return false;
    }
    return true;
  }

  const news = [];

  function line(words, address) {
    news.unshift([words, address]);
    news.length = Math.min(news.length, 5);
  }

  function show() {
    const rows = [...news];
    box.replaceChildren();
    for (const [words, address] of rows) paragraph(words, address);
    for (const key of waiting()) {
      const survey = read(key);
      if (!survey.refused) { paragraph(say("gp-still-here", { name: survey.name })); continue; }
      const row = paragraph(`${say("gp-sent-back", { name: survey.name })}\n${survey.refused}`);
      const gone = Object.assign(document.createElement("button"), { type: "button", textContent: say("gp-forget-it") });
      gone.addEventListener("click", () => { localStorage.removeItem(key); show(); });
      row.append(gone);
    }
  }

  function paragraph(words, address) {
    const row = Object.assign(document.createElement("p"), { className: "status", textContent: words });
    row.style.whiteSpace = "pre-line";
    if (address) row.append(" ", Object.assign(document.createElement("a"), { href: address, textContent: say("gp-look-at-it") }));
    box.append(row);
    return row;
  }

  document.querySelector("header").append(box);
  addEventListener("online", send);
  addEventListener("storage", show);
  setInterval(send, 60e3);
  send();
  navigator.serviceWorker?.register("/worker.js").catch(() => {});
}
