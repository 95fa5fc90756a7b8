// Air that a mold keeps while resin is poured: how the block is held decides.

import { Asker } from "./ask.js";
import { el, keyed, say } from "./dom.js";
import { faultsOf } from "./job.js";
import { place, plain } from "./units.js";

/** Which side of the block an angle raises: above nothing, below nothing. */
const SIDES = {
  about_length_deg: ["right side", "left side"],
  end_up_deg: ["far end", "start"],
  standing: ["section's upper side", "section's lower side"],
};

export class Air {
  /**
   * @param {Element} node
   * @param {Store} store
   * @param {() => void} changed  draw the section again: `pockets` are new
   */
  constructor(node, store, changed) {
    this.store = store;
    this.changed = changed;
    this.pockets = [];
    this.tilt = { about_length_deg: 0, end_up_deg: 0 };
    this.sliders = ["about_length_deg", "end_up_deg"].map((key) => this.makeSlider(key));
    this.said = el("p", { class: "found-say", role: "status" });
    this.list = el("ul", { class: "causes" });
    this.remedies = el("p", { class: "found-say" });
    this.hold = el("button", { type: "button", class: "small", hidden: true, onclick: () => this.tiltTo(this.best) }, "Hold it so");
    this.open = el("details", { class: "air" }, el("summary", {}, el("h2", {}, "Air: how to hold the block while you pour")), ...this.sliders.map(({ row }) => row), this.said, this.list, this.remedies, this.hold);
    this.open.addEventListener("toggle", () => this.ask());
    node.append(this.open);
    this.asker = new Asker("air", (answer) => this.deliver(answer), undefined, undefined, "/air");
  }

  makeSlider(key) {
    const [label, value] = [el("label", { for: `air-${key}` }), el("output")];
    const input = el("input", { type: "range", id: `air-${key}`, min: -60, max: 60, step: 5, value: 0 });
    input.addEventListener("input", () => {
      this.tilt = { ...this.tilt, [key]: Number(input.value) };
      this.name();
      this.ask();
    });
    return { key, label, value, row: el("div", { class: "air-slider" }, label, input, value) };
  }

  /** Write beside each slider which side of the block it raises, and how far. */
  name() {
    const standing = this.store.mold.resin?.standing === true;
    for (const { key, label, value } of this.sliders) {
      const deg = this.tilt[key];
      const [more, less] = SIDES[key === "end_up_deg" && standing ? "standing" : key];
      say(label, `Raise the ${more} or the ${less}`);
      say(value, deg ? `${deg > 0 ? more : less} ${Math.abs(deg)}°` : "level");
    }
  }

  /** Tilt the block as the answer found best: the sliders follow. */
  tiltTo({ about_length_deg, end_up_deg }) {
    this.tilt = { about_length_deg, end_up_deg };
    for (const { key, row } of this.sliders) row.querySelector("input").value = this.tilt[key];
    this.name();
    this.ask();
  }

  refresh(why) {
    if (!["mold", "begin", "settings"].includes(why)) return;
    this.name();
    this.ask();
  }

  /** Ask where air stays, while the panel is open; nothing is marked while it is shut. */
  ask() {
    if (this.open.open) {
      this.asker.want({ mold: this.store.mold, inches: this.store.settings.inches, ...this.tilt }, false);
      return;
    }
    if (!this.pockets.length) return;
    this.pockets = [];
    this.changed();
  }

  deliver(answer) {
    const { inches } = this.store.settings;
    this.pockets = answer.status === 200 && this.open.open ? answer.pockets : [];
    const note = answer.note ? ` ${answer.note}.` : "";
    if (answer.status !== 200) say(this.said, faultsOf(answer));
    else say(this.said, (answer.pockets.length ? `${volume(answer.volume_mm3)} of air stays in ${answer.pockets.length === 1 ? "one place" : `${answer.pockets.length} places`}.` : "No place keeps air. The sprue stands where the mold file puts it, else at the highest place of each cavity.") + note);
    keyed(this.list, this.pockets, (_, i) => String(i), () => el("li", {}, el("span")), (node, pocket) => {
      const [x, y, along] = pocket.at_mm;
      const met = [...pocket.crosses, ...pocket.through];
      const cuts = met.length ? ` A vent straight up crosses ${met.join(", ")}.` : "";
      const left = pocket.in_pot_mm3 === null ? "" : `, ${volume(pocket.in_pot_mm3)} in the pot`;
      const behind = pocket.kind === "neck" ? " behind a thin neck" : "";
      say(node.firstElementChild, `${volume(pocket.volume_mm3)}${behind} in '${pocket.cavity}'${left}. Vent at x ${place(x, inches)}, y ${place(y, inches)}, ${place(along, inches)} along.${cuts}`);
    });
    say(this.remedies, (answer.remedies ?? []).join(" "));
    this.best = answer.tilt;
    this.hold.hidden = !answer.tilt;
    this.changed();
  }
}

const volume = (mm3) => (mm3 >= 100 ? `${plain(mm3 / 1000, 1)} cm³` : `${plain(mm3, 0)} mm³`);
