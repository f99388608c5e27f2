"use strict";
// The field form opens with no network: what was last served of it is kept. Nothing else of the group's page is.
const KEPT = "siteassess-form-1", OF_THE_FORM = ["/form", "/manifest.webmanifest", "/icon.svg"];

addEventListener("install", (event) => {
  skipWaiting();
  event.waitUntil(caches.open(KEPT).then((kept) => Promise.all(OF_THE_FORM.map((one) => fetched(kept, one)))));
});
addEventListener("activate", (event) => event.waitUntil(caches.keys().then((names) =>
  Promise.all([clients.claim(), ...names.filter((name) => name !== KEPT).map((name) => caches.delete(name))]))));

/** The page as it is served now, kept for the next time; only what is whole is kept, never the way to sign in. */
async function fetched(kept, request) {
  const answer = await fetch(request, { credentials: "same-origin" });
  if (answer.ok && !answer.redirected) await kept.put(request, answer.clone());
  return answer;
}

addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== location.origin || !OF_THE_FORM.includes(pathname)) return;
  event.respondWith(caches.open(KEPT).then((kept) =>
    fetched(kept, pathname).catch(async () => (await kept.match(pathname)) ?? Response.error())));
});
