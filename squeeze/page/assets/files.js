// Opening and saving the same mold files as the command line.

import { get, post } from "./ask.js";
import { $, el } from "./dom.js";
import { dialog, notice } from "./notice.js";
import { earlier, forget } from "./store.js";

const LARGEST = 4_000_000;

export function wireFiles(store, start) {
  $("#open").addEventListener("click", () => openDialog(store, start));
  $("#save").addEventListener("click", () => save(store, start));
  $("#file").addEventListener("change", (event) => {
    const [file] = event.target.files;
    event.target.value = "";
    if (file) openFile(store, file);
  });
  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", (event) => {
    event.preventDefault();
    const [file] = event.dataTransfer?.files ?? [];
    if (file && !file.type.startsWith("image/")) openFile(store, file);
  });
}

async function openFile(store, file) {
  if (file.size > LARGEST) {
    notice(`${file.name} is larger than 4 MB, so it is no mold file.`);
    return;
  }
  const text = new TextDecoder("utf-8").decode(await file.arrayBuffer());
  const read = await post("/read", { text, name: file.name });
  if (read.status === 200) {
    store.begin(read.mold, { opened: file.name, text });
    location.hash = "bench";
    notice(`Opened ${file.name}.`);
    return;
  }
  refused(`${file.name} cannot be opened`, read);
}

function refused(title, answer) {
  const faults = answer.faults?.map((fault) => fault.say) ?? [answer.error ?? "It cannot be read."];
  dialog(title, () => [el("ul", { class: "refused" }, faults.map((text) => el("li", {}, text)))]);
}

function openDialog(store, start) {
  dialog("Open", (close) => {
    const pick = el("button", { type: "button", class: "main", onclick: () => (close(), $("#file").click()) }, "Choose a mold file");
    const fresh = el("button", { type: "button", onclick: () => (close(), store.begin(start.start)) }, "Start a new mold");
    const again = start.file?.mold
      ? el("button", { type: "button", onclick: () => (close(), reopen(store, start)) }, `Read ${baseOf(start.file.name)} again`)
      : null;
    return [el("div", { class: "row" }, pick, fresh, again), el("h3", {}, "Worked on here before"), slots(store, close)];
  });
}

async function reopen(store, start) {
  const { file } = await get("/start");
  if (!file?.mold) {
    refused(`${start.file.name} cannot be opened`, file ?? {});
    return;
  }
  start.file = file;
  store.begin(file.mold, { file: { name: file.name, stamp: file.stamp } });
}

function slots(store, close) {
  const list = earlier();
  if (!list.length) return el("p", {}, "Nothing yet.");
  return el("ul", { class: "slots" }, list.map((kept) => {
    const when = new Date(kept.when).toLocaleString();
    const mine = kept.slot === store.slot;
    const open = el("button", { type: "button", disabled: mine, onclick: () => (close(), store.open(kept.slot)) }, kept.title, el("small", {}, mine ? "open now" : when));
    const gone = el("button", { type: "button", class: "small", disabled: mine, "aria-label": `Forget ${kept.title} of ${when}` }, "Forget");
    const item = el("li", {}, open, gone);
    gone.addEventListener("click", () => {
      forget(kept.slot);
      item.remove();
    });
    return item;
  }));
}

async function save(store, start) {
  const { file } = store.extra;
  if (file && start.file?.name === file.name) {
    await saveInPlace(store, { seen: file.stamp });
    return;
  }
  const written = await post("/write", { mold: store.mold, over: store.extra.text });
  if (written.status !== 200) {
    refused("The mold cannot be saved yet", written);
    return;
  }
  const name = store.extra.opened ?? `${fileName(store.mold.title)}.toml`;
  if (written.lost.length) loses(name, written.lost, () => saveAs(store, written.text, name));
  else saveAs(store, written.text, name);
}

function saveAs(store, text, name) {
  const link = el("a", { href: URL.createObjectURL(new Blob([text], { type: "application/toml" })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  store.set("text", text);
  notice(`Saved ${name} where the browser puts its downloads.`);
}

/** Say which comments go before they go. */
function loses(name, comments, save) {
  dialog("Some comments would be lost", (close) => [
    el("p", {}, `These comments in ${name} belong to what you took away or moved:`),
    el("ul", { class: "lost" }, comments.map((text) => el("li", {}, text))),
    el("div", { class: "row" }, el("button", { type: "button", onclick: () => (close(), save()) }, "Save without them"), el("button", { type: "button", onclick: close }, "Do not save")),
  ]);
}

async function saveInPlace(store, how) {
  const { mold } = store;
  const saved = await post("/file", { mold, ...how }, { method: "PUT" });
  if (saved.status === 200) {
    store.set("file", { name: saved.name, stamp: saved.stamp });
    notice(`Saved ${saved.name}.`);
  } else if (saved.changed) {
    dialog("The file has changed", (close) => [
      el("p", {}, saved.error),
      el("div", { class: "row" }, el("button", { type: "button", onclick: () => (close(), saveInPlace(store, { seen: null })) }, "Write over it"), el("button", { type: "button", onclick: close }, "Leave it")),
    ]);
  } else if (saved.lost) {
    loses(store.extra.file.name, saved.lost, () => saveInPlace(store, { ...how, lose: true }));
  } else {
    refused("The mold cannot be saved yet", saved);
  }
}

const baseOf = (name) => name.split(/[\\/]/).pop();
export const fileName = (title) => (title || "mold").toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "") || "mold";
