import init from "./phone.js";

// Nothing else of the page runs where the program does not: this is said without it.
function say(cause, wayOut, error) {
  if (document.getElementById("stopped")) return;
  const element = (name, text, about = {}) => Object.assign(document.createElement(name), { textContent: text }, about);
  const message = element("section", "", { id: "stopped", className: "message", role: "alert" });
  message.append(
    element("p", cause, { className: "cause" }),
    element("p", wayOut),
    element("button", "load it again", { onclick: () => location.reload() }),
    element("p", error?.stack ?? String(error), { className: "quiet" }),
  );
  document.body.prepend(message);
}

// Where the program fails it stops for good, and no button answers any more.
function stopped(error) {
  if (!(error instanceof WebAssembly.RuntimeError)) return;
  say("the app has stopped by a fault of its own", "What it said was kept is kept. Load it again; what was typed and not yet kept, type again.", error);
}

addEventListener("error", ({ error }) => stopped(error));
addEventListener("unhandledrejection", ({ reason }) => stopped(reason));

init({ module_or_path: new URL("phone.wasm", import.meta.url) }).catch((error) =>
  say("the app could not be started", "Load it again; where that does not help, with another browser or a newer one.", error),
);
