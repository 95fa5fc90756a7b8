// Where everything comes together: the mold on the bench, its answer, and the other views.

import { get } from "./ask.js";
import { Bench } from "./bench.js";
import { $, guarded, say } from "./dom.js";
import { wireFiles } from "./files.js";
import { Design } from "./design.js";
import { Length } from "./length.js";
import { notice } from "./notice.js";
import { wirePaper } from "./paper.js";
import { openSettings } from "./settings.js";
import { Store } from "./store.js";
import { Studies } from "./studies.js";
import { Teach } from "./teach.js";
import { learnOutlines } from "./mold.js";
import { learnTints } from "./tint.js";
import { Trace } from "./trace.js";

const store = new Store();
store.onFull = () => notice("The browser can keep no more. Save the mold as a file, so that nothing is lost.");
const views = {};
addEventListener("error", (event) => notice(`The page has a defect: ${event.message}. Your work is kept: reload the page to go on.`));
addEventListener("unhandledrejection", (event) => notice(`The page has a defect: ${event.reason}. Your work is kept: reload the page to go on.`));

async function begin() {
  dress();
  const start = await get("/start");
  if (start.status !== 200) {
    say($("#say"), start.error ?? "The server does not answer.");
    return;
  }
  learnTints(start.tints);
  learnOutlines(start.outlines);
  say($("#caution"), start.caution);
  await firstMold(start);
  views.bench = new Bench(store, start);
  views.length = new Length($("#view-length"), store, start);
  views.design = new Design($("#view-design"), store);
  views.trace = new Trace($("#view-trace"), store);
  views.teach = new Teach($("#view-teach"), store, start);
  views.studies = new Studies($("#view-studies"), store, start);
  wireFiles(store, start);
  wirePaper(store);
  wireDeeds();
  store.listen(refresh);
  addEventListener("hashchange", show);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => refresh("settings"));
  let timer = 0;
  addEventListener("resize", () => {
    clearTimeout(timer);
    timer = setTimeout(() => refresh("size"), 80);
  });
  show();
  document.body.dataset.ready = "yes";
}

/** The file given on the command line comes first, unless this tab has changed it already. */
async function firstMold(start) {
  const back = await store.resume();
  const { file } = start;
  if (file?.mold && !(back && store.extra.file?.name === file.name && store.extra.file.stamp === file.stamp)) {
    store.begin(file.mold, { file: { name: file.name, stamp: file.stamp } });
  } else if (!back) {
    store.begin(start.start);
  }
  if (file?.error || file?.faults) notice(file.error ?? file.faults.map((fault) => fault.say).join("\n"));
}

function dress() {
  const { theme } = store.settings;
  if (theme) document.documentElement.dataset.theme = theme;
  else delete document.documentElement.dataset.theme;
}

function refresh(why) {
  if (why === "settings") dress();
  const tracing = Boolean(views.trace?.shown);
  $("#undo").disabled = !(tracing ? views.trace.past.length : store.undoes.length);
  $("#redo").disabled = tracing || store.redoes.length === 0;
  const title = `${store.mold.title || "squeeze"} · squeeze`;
  if (document.title !== title) document.title = title;
  for (const view of Object.values(views)) guarded(() => view.refresh(why));
}

function show() {
  const wanted = location.hash.slice(1);
  const name = wanted in views ? wanted : "bench";
  for (const [each, view] of Object.entries(views)) {
    $(`#view-${each}`).hidden = each !== name;
    view.shown = each === name;
  }
  for (const link of document.querySelectorAll(".views a")) {
    if (link.hash === `#${name}`) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  refresh("view");
}

function wireDeeds() {
  $("#undo").addEventListener("click", () => (views.trace.shown ? views.trace.undo() : store.undo()));
  $("#redo").addEventListener("click", () => store.redo());
  $("#settings").addEventListener("click", () => openSettings(store));
  addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || $("#dialog").open) return;
    const key = event.key.toLowerCase();
    const deed = { z: event.shiftKey ? "redo" : "undo", y: "redo", s: "save", o: "open" }[key];
    if (!deed) return;
    event.preventDefault();
    $(`#${deed}`).click();
  });
}

begin();
