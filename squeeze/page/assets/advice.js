// What would help: bands, cradles, cuts, bevels and outlines are tried, and shown before and after.

import { el, say } from "./dom.js";
import { Job } from "./job.js";

export class AdviceSearch {
  constructor(node, store) {
    this.store = store;
    this.of = null;
    this.job = new Job();
    this.button = el("button", { type: "button", onclick: () => this.search() }, "Search for what helps");
    this.status = el("p", { class: "study-note", role: "status" });
    this.list = el("ol");
    node.append(el("h2", {}, "What would help"), el("div", { class: "row" }, this.button, this.status), this.job.node, this.list);
    say(this.status, "Tries bands, cradles, cuts, bevels and outlines. It takes a minute or more.");
  }

  async search() {
    const { mold, settings } = this.store;
    say(this.status, "You can go on working.");
    this.button.disabled = true;
    const found = await this.job.ask("/advise", { mold, inches: settings.inches });
    this.button.disabled = false;
    say(this.status, "");
    if (!found) return;
    this.of = mold;
    this.list.replaceChildren(...found.list.map((one) => this.entry(one)), ...found.say.map((text) => el("li", {}, text)));
    this.foundText = found.list.length ? `${found.tried} molds were tried.` : `${found.tried} molds were tried. None is better.`;
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
    say(this.status, same ? this.foundText : `${this.foundText} The figures are for the mold as it was then.`);
  }
}
