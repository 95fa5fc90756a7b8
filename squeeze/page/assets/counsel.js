// What would help: bands, cradles, cuts, bevels and outlines are tried, and told before and after.

import { post } from "./ask.js";
import { el, say } from "./dom.js";

export class Counsel {
  constructor(node, store) {
    this.store = store;
    this.of = null;
    this.button = el("button", { type: "button", onclick: () => this.search() }, "Search for what helps");
    this.told = el("p", { class: "told-study", role: "status" });
    this.list = el("ol");
    node.append(el("h2", {}, "What would help"), el("div", { class: "row" }, this.button, this.told), this.list);
    say(this.told, "Tries bands, cradles, cuts, bevels and outlines; this takes a while.");
  }

  async search() {
    this.button.disabled = true;
    say(this.told, "Searching; you can go on working.");
    const { mold, settings } = this.store;
    const found = await post("/advise", { mold, inches: settings.inches });
    this.button.disabled = false;
    this.of = mold;
    this.list.replaceChildren();
    if (found.status !== 200) {
      say(this.told, found.error ?? found.faults.map((fault) => fault.say).join("; "));
      return;
    }
    this.list.append(...found.list.map((one) => this.entry(one)), ...found.say.map((text) => el("li", {}, text)));
    this.foundText = found.list.length ? `${found.tried} molds were tried.` : `${found.tried} molds were tried; none of them is better.`;
    this.refresh();
  }

  entry({ say: text, figures, mold }) {
    const take = el("button", { type: "button", "aria-label": `Try: ${text}`, onclick: () => this.store.change(mold, `advice ${Date.now()}`) }, "Try it");
    return el("li", {}, el("span", {}, text), el("small", {}, figures.replaceAll(" -> ", " → ")), take);
  }

  /** Say so when the list belongs to the mold as it was. */
  refresh() {
    if (!this.of) return;
    const same = this.of === this.store.mold;
    say(this.told, same ? this.foundText : `${this.foundText} The figures are for the mold as it was then.`);
  }
}
