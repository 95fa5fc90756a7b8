// From the models to the block: blocks that do, side by side, with what each costs.

import { el, say } from "./dom.js";
import { Job } from "./job.js";
import { across, thumb } from "./thumb.js";
import { length, plain } from "./units.js";

const THUMB = 150;

/** A sentence on a block without the block's name, which stands over it. */
function withoutName(text, name) {
  const at = text.toLowerCase().indexOf(`${name.toLowerCase()}: `);
  if (at < 0) return text;
  const rest = text.slice(at + name.length + 2);
  return `${text.slice(0, at)}${rest.slice(0, 1).toUpperCase()}${rest.slice(1)}`;
}

export class Design {
  constructor(node, store) {
    this.node = node;
    this.store = store;
    this.job = new Job();
    this.button = el("button", { type: "button", class: "main", onclick: () => this.search() }, "Search for blocks");
    this.note = el("p", { class: "study-note", role: "status" });
    this.said = el("p", { class: "found-say" });
    this.list = el("ol", { class: "designs" });
    this.more = el("div");
    node.append(
      el("h2", {}, "Which block round these models?"),
      el("p", { class: "lead" }, "The models are the cavities of the mold on the section. The search tries outlines, sizes, cuts, cradles and bands round them, and closes each block that it shows in twelve variations. It takes some minutes. You can go on working."),
      el("div", { class: "row" }, this.button, this.note), this.job.node, this.said, this.list, this.more,
    );
  }

  refresh() {
    const count = (this.store.mold.cavity ?? []).length;
    this.button.disabled = !count || this.job.busy;
    say(this.note, count ? `${count} ${count === 1 ? "model" : "models"}.` : "The mold on the section has no cavity, so there is no model.");
    if (this.of && this.of !== this.store.mold) say(this.said, `${this.text} This is for the mold as it was then.`.trim());
  }

  async search() {
    const { mold, settings } = this.store;
    this.button.disabled = true;
    const found = await this.job.ask("/design", { mold, inches: settings.inches });
    this.button.disabled = false;
    if (!found) return;
    Object.assign(this, { of: mold, text: found.refusal ? [found.refusal.say, found.refusal.change].filter(Boolean).join(" ") : `${found.designs.length} blocks, none better than another in everything. The search tried ${found.tried} and closed ${found.certified} of them in full.` });
    say(this.said, this.text);
    const most = Math.max(...found.designs.map(({ mold: one }) => across(one)));
    this.list.replaceChildren(...found.designs.map((one) => this.entry(one, settings.inches, across(one.mold) / most)));
    const dropped = found.dropped.map((each) => el("li", {}, `${each.count} ${each.count === 1 ? "block" : "blocks"}: ${each.reason}`));
    this.more.replaceChildren(...[
      el("ul", { class: "remarks" }, found.remarks.map((text) => el("li", {}, text))),
      dropped.length ? el("details", {}, el("summary", {}, "Blocks that were dropped, and why"), el("ul", {}, dropped)) : null,
    ].filter(Boolean));
  }

  /** One block of the answer; `share` is its width beside the widest, so that all are drawn to one scale. */
  entry({ number, name, say: text, figures, mold }, inches, share) {
    const rows = [
      ["fresh rubber", `${plain(figures.rubber_g, 0)} g`],
      ["price", figures.price === null ? null : plain(figures.price, 2)],
      ["bands", plain(figures.bands, 0)],
      ["steps of work", plain(figures.steps, 0)],
      ["weakest barrier", figures.margin === null ? null : `${plain(figures.margin, 1)} times the resin`],
      ["gap at a cavity", length(figures.flash_mm, inches)],
      ["casting off by", length(figures.shift_mm, inches)],
      ["grade", figures.grade],
      ["clean or a fine line", `in ${figures.good_in} of 12 variations`],
    ].filter(([, value]) => value !== null);
    const take = el("button", { type: "button", "aria-label": `Put ${name} on the section`, onclick: () => this.take(mold) }, "Put it on the section");
    return el("li", {}, el("div", { class: "design-thumb" }, thumb(mold, `${name}, section`, THUMB * share)), el("div", {}, el("h3", {}, `${number}. ${name}`), el("p", {}, withoutName(text, name)), el("dl", { class: "costs" }, rows.map(([what, value]) => el("div", {}, el("dt", {}, what), el("dd", {}, value)))), take));
  }

  take(mold) {
    this.store.change({ ...mold, title: this.store.mold.title ?? mold.title }, `design ${Date.now()}`);
    location.hash = "bench";
  }
}
