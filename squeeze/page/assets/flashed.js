// Why a casting flashed: how thick the flash was, and what would explain it.

import { el, keyed, say } from "./dom.js";
import { Job } from "./job.js";
import { nameOf } from "./mold.js";

const WORDS = [["fine line", "a fine line"], ["can feel it", "I can feel it"], ["thick as card", "thick as card"], ["own", "measured"]];

export class Flashed {
  constructor(node, store) {
    this.store = store;
    this.job = new Job();
    this.thick = el("select", { id: "flash-thick" }, WORDS.map(([value, text]) => el("option", { value }, text)));
    this.own = el("input", { id: "flash-own", type: "text", class: "figure", inputmode: "decimal", autocomplete: "off", value: "0.2", "aria-label": "Thickness of the flash" });
    this.unit = el("span", {}, "mm");
    this.at = el("select", { id: "flash-at" });
    this.said = el("p", { class: "found-say" });
    this.list = el("ol", { class: "causes" });
    this.thick.addEventListener("change", () => this.refresh());
    const form = el("form", { class: "row flash-form" }, el("label", { for: "flash-thick" }, "The flash was"), this.thick, this.own, this.unit, el("label", { for: "flash-at" }, "on"), this.at, el("button", { type: "submit" }, "Search for the cause"));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.search();
    });
    node.append(el("h2", {}, "Why did a casting flash?"), form, this.job.node, this.said, this.list);
    this.refresh();
  }

  refresh() {
    const { inches } = this.store.settings;
    this.own.hidden = this.unit.hidden = this.thick.value !== "own";
    if (inches !== this.inches) this.own.value = inches ? "1/128" : "0.2";
    this.inches = inches;
    this.unit.textContent = inches ? "in" : "mm";
    const names = (this.store.mold.cavity ?? []).map((cavity, i) => nameOf(cavity, "cavity", i));
    keyed(this.at, ["", ...names], (name, i) => `${i} ${name}`, (name) => el("option", { value: name }, name || "any casting"), () => {});
    if (this.of && this.of !== this.store.mold) say(this.said, `${this.text} This is for the mold as it was then.`);
  }

  async search() {
    const { mold, settings } = this.store;
    const flash = this.thick.value === "own" ? this.own.value.trim().replace(",", ".") : this.thick.value;
    const found = await this.job.ask("/why", { mold, flash, at: this.at.value, inches: settings.inches });
    if (!found) return;
    Object.assign(this, { of: mold, text: found.say });
    say(this.said, found.say);
    this.list.replaceChildren(...found.explanations.map((each) => el("li", {}, el("strong", {}, each.plausible), el("span", {}, each.say), el("small", {}, each.test))));
  }
}
