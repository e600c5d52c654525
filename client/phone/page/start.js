import init from "./phone.js";

init({ module_or_path: new URL("phone.wasm", import.meta.url) });
