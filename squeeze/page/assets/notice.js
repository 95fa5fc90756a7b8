// Short messages at the foot of the window, and the one dialog.

import { $, el } from "./dom.js";

let timer = 0;

export function notice(text) {
  const node = $("#notice");
  node.textContent = text;
  node.classList.add("there");
  clearTimeout(timer);
  timer = setTimeout(() => node.classList.remove("there"), 3000 + 60 * text.length);
}

/** Open the dialog with a title and contents; `close` is handed to whoever makes them. */
export function dialog(title, make) {
  const node = $("#dialog");
  const close = () => node.close();
  const button = el("button", { type: "button", class: "close", onclick: close }, "Close");
  $("#dialog-inside").replaceChildren(el("div", { class: "dialog-head" }, el("h2", { id: "dialog-title" }, title), button), ...make(close));
  if (!node.open) node.showModal();
}
