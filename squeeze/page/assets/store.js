// The state of the page: the mold with its undo and redo, kept by the browser after every change.

import { guarded } from "./dom.js";
import { withCutsFollowing } from "./mold.js";

const PREFIX = "squeeze.mold.";
const SETTINGS = "squeeze.settings";
const STEPS = 80;
const SLOTS = 40;
const MERGE_MS = 1500;

/** One mold, what it was before, and whoever listens. */
export class Store {
  constructor() {
    this.listeners = [];
    this.last = { tag: null, time: 0 };
    this.undoes = [];
    this.redoes = [];
    this.mold = {};
    this.extra = {};
    this.settings = read(SETTINGS) ?? { inches: false, theme: "" };
    this.onFull = () => {};
    addEventListener("pagehide", () => this.keep());
  }

  listen(listener) {
    this.listeners.push(listener);
  }

  /** Tell every listener; one that fails is reported, and the others still hear. */
  tell(why) {
    for (const listener of this.listeners) guarded(() => listener(why));
  }

  /** Change the mold; changes with the same tag in quick succession are one step to undo. */
  change(mold, tag) {
    if (mold === this.mold || JSON.stringify(mold) === JSON.stringify(this.mold)) return;
    const now = Date.now();
    const same = tag && tag === this.last.tag && (/^(drag|field .*\d$)/.test(tag) || now - this.last.time < MERGE_MS);
    if (!same) this.undoes = [...this.undoes, this.mold].slice(-STEPS);
    this.redoes = [];
    this.last = { tag, time: now };
    this.mold = this.followed(mold);
    this.keepSoon();
    this.tell("mold");
  }

  /** Let the ends of cuts follow the outline, from where they lay before this step began. */
  followed(mold) {
    const began = this.undoes.at(-1) ?? this.mold;
    const own = mold.cut === this.mold.cut && mold.block !== this.mold.block;
    return own ? withCutsFollowing({ ...began, cut: began.cut }, { ...mold, cut: began.cut }) : mold;
  }

  /** Put another mold in place of this one, in a slot of its own; the old one stays kept. */
  begin(mold, extra = {}) {
    if (this.slot) this.keep();
    this.slot = freshSlot();
    taken(this.slot);
    sessionStorage.setItem("squeeze.slot", this.slot);
    Object.assign(this, { mold, undoes: [], redoes: [], extra, last: { tag: null, time: 0 } });
    this.keep();
    this.tell("begin");
  }

  undo() {
    this.step("undoes", "redoes");
  }

  redo() {
    this.step("redoes", "undoes");
  }

  step(from, to) {
    if (!this[from].length) return;
    this[to] = [...this[to], this.mold];
    this.mold = this[from].at(-1);
    this[from] = this[from].slice(0, -1);
    this.last = { tag: null, time: 0 };
    this.keepSoon();
    this.tell("mold");
  }

  /** Keep something beside the mold: the file it came from, what is pinned, a tracing. */
  set(name, value) {
    this.extra = { ...this.extra, [name]: value };
    this.last = { tag: null, time: 0 };
    this.keepSoon();
    this.tell(name);
  }

  setting(name, value) {
    this.settings = { ...this.settings, [name]: value };
    write(SETTINGS, this.settings);
    this.tell(name === "teach" ? "teach" : "settings");
  }

  keepSoon() {
    clearTimeout(this.timer);
    document.body.dataset.kept = "soon";
    this.timer = setTimeout(() => this.keep(), 150);
  }

  keep() {
    clearTimeout(this.timer);
    if (!this.slot) return;
    const { mold, undoes, redoes, extra } = this;
    document.body.dataset.kept = "yes";
    const whole = { mold, undoes, redoes, extra, when: Date.now() };
    if (write(PREFIX + this.slot, whole)) return;
    lighten(this.slot);
    if (!write(PREFIX + this.slot, { ...whole, undoes: undoes.slice(-10) })) this.onFull();
  }

  /** Go on with what this tab, or else any tab, had last. False when there is nothing. */
  async resume() {
    const mine = sessionStorage.getItem("squeeze.slot");
    const slot = mine && read(PREFIX + mine) ? mine : earlier()[0]?.slot;
    const found = slot && read(PREFIX + slot);
    if (!found?.mold) return false;
    document.body.dataset.kept = "yes";
    this.slot = (await taken(slot)) ? freshSlot() : slot;
    sessionStorage.setItem("squeeze.slot", this.slot);
    const { mold, undoes = [], redoes = [], extra = {} } = found;
    Object.assign(this, { mold, undoes, redoes, extra });
    await taken(this.slot);
    return true;
  }

  /** Go back to an earlier mold. */
  async open(slot) {
    const found = read(PREFIX + slot);
    if (!found) return;
    this.keep();
    if (await taken(slot)) {
      this.begin(found.mold, found.extra);
      return;
    }
    this.slot = slot;
    sessionStorage.setItem("squeeze.slot", slot);
    const { mold, undoes = [], redoes = [], extra = {} } = found;
    Object.assign(this, { mold, undoes, redoes, extra, last: { tag: null, time: 0 } });
    this.tell("begin");
  }
}

/** Every kept mold, the latest first: {slot, title, when}. */
export function earlier() {
  return Object.keys(localStorage)
    .filter((key) => key.startsWith(PREFIX))
    .map((key) => ({ slot: key.slice(PREFIX.length), ...read(key) }))
    .filter((kept) => kept.mold)
    .map(({ slot, mold, when }) => ({ slot, when: when ?? 0, title: mold.title || "Without a title" }))
    .sort((a, b) => b.when - a.when);
}

export function forget(slot) {
  localStorage.removeItem(PREFIX + slot);
}

const mine = new Set();

/** Whether another tab works on a slot; if not, this tab holds it from now on. */
function taken(slot) {
  if (!navigator.locks || mine.has(slot)) return Promise.resolve(false);
  return new Promise((answer) => {
    navigator.locks.request(PREFIX + slot, { ifAvailable: true }, (lock) => {
      if (lock) mine.add(slot);
      answer(!lock);
      return lock ? new Promise(() => {}) : undefined;
    });
  });
}

function lighten(slot) {
  for (const kept of earlier().slice(1)) {
    if (kept.slot === slot) continue;
    const whole = read(PREFIX + kept.slot);
    write(PREFIX + kept.slot, { ...whole, undoes: [], redoes: [] });
  }
  for (const kept of earlier().slice(SLOTS)) forget(kept.slot);
}

const freshSlot = () => `${Date.now().toString(36)}-${Math.random().toString(36).slice(2, 7)}`;

function read(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}

function write(key, value) {
  try {
    localStorage.setItem(key, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}
