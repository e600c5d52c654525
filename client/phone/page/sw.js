// Keeps one build of the app whole: all of its files or none, named by the build. The records are
// not here, and requests to the relay pass by untouched.
const BUILD = "@BUILD@";
const FILES = @FILES@;

self.addEventListener("install", (event) => {
  const whole = FILES.map((file) => new Request(file, { cache: "reload" }));
  event.waitUntil(caches.open(BUILD).then((cache) => cache.addAll(whole)));
});

// A newer build waits until the page asks: nobody's screen changes under their hands.
self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

self.addEventListener("activate", (event) => {
  const others = caches.keys().then((names) => names.filter((name) => name.startsWith("gudgeon-") && name !== BUILD));
  const gone = others.then((names) => Promise.all(names.map((name) => caches.delete(name))));
  event.waitUntil(gone.then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  const scope = new URL(self.registration.scope).pathname;
  const file = url.pathname.startsWith(scope) ? url.pathname.slice(scope.length) : null;
  // The app's own pages follow the `#`: a path that is none of its files leads to where its files are.
  if (request.mode === "navigate" && file !== null && file !== "" && !file.includes(".")) {
    event.respondWith(Response.redirect(self.registration.scope));
    return;
  }
  const ours = request.mode === "navigate" && (file === "" || file === "index.html") ? "index.html" : file;
  if (ours === null || !FILES.includes(ours)) return;
  event.respondWith(caches.open(BUILD).then((cache) => cache.match(ours)).then((kept) => kept ?? fetch(request)));
});
