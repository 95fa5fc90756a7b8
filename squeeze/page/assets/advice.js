// What would help: bands, cradles, cuts, bevels and outlines are tried, and told before and after.

import { post } from "./ask.js";
import { el, say } from "./dom.js";

export class AdviceSearch {
  constructor(node, store) {
    this.store = store;
    this.of = null;
    this.button = el("button", { type: "button", onclick: () => this.search() }, "Search for what helps");
    this.stop = el("button", { type: "button", hidden: true, onclick: () => this.giveUp.abort() }, "Stop");
    this.status = el("p", { class: "study-note", role: "status" });
    this.clock = el("span", { class: "waiting", "aria-hidden": "true" });
    this.list = el("ol");
    node.append(el("h2", {}, "What would help"), el("div", { class: "row" }, this.button, this.stop, this.clock, this.status), this.list);
    say(this.status, "Tries bands, cradles, cuts, bevels and outlines; this takes a while.");
  }

  async search() {
    const { mold, settings } = this.store;
    this.giveUp = new AbortController();
    const { signal } = this.giveUp;
    this.show(true);
    const found = await post("/advise", { mold, inches: settings.inches }, { signal });
    this.show(false);
    if (signal.aborted) {
      say(this.status, "Stopped.");
      return;
    }
    this.of = mold;
    this.list.replaceChildren();
    if (found.status !== 200) {
      say(this.status, found.error ?? found.faults.map((fault) => fault.say).join("; "));
      return;
    }
    this.list.append(...found.list.map((one) => this.entry(one)), ...found.say.map((text) => el("li", {}, text)));
    this.foundText = found.list.length ? `${found.tried} molds were tried.` : `${found.tried} molds were tried; none of them is better.`;
    this.refresh();
  }

  /** Show that the search is under way, and for how long; or that it is not. */
  show(on) {
    clearInterval(this.counting);
    this.button.disabled = on;
    this.stop.hidden = !on;
    say(this.clock, "");
    if (!on) return;
    say(this.status, "Searching; you can go on working.");
    const begun = performance.now();
    this.counting = setInterval(() => say(this.clock, `${Math.floor((performance.now() - begun) / 1000)} s`), 1000);
  }

  entry({ say: text, figures, mold }) {
    const take = el("button", { type: "button", "aria-label": `Try: ${text}`, onclick: () => this.store.change(mold, `advice ${Date.now()}`) }, "Try it");
    return el("li", {}, el("span", {}, text), el("small", {}, figures.replaceAll(" -> ", " → ")), take);
  }

  /** Say so when the list belongs to the mold as it was. */
  refresh() {
    if (!this.of) return;
    const same = this.of === this.store.mold;
    say(this.status, same ? this.foundText : `${this.foundText} The figures are for the mold as it was then.`);
  }
}
