// Walking along the lands of an answer: by a slider, or by pointing at the plot.

import { $, say, set } from "./dom.js";
import { length, place, pressure } from "./units.js";

export class Walk {
  /**
   * @param {Plot} plot
   * @param {object} hooks  {answer(): object, inches(): boolean, changed()}: `changed` draws again
   */
  constructor(plot, hooks) {
    this.plot = plot;
    this.hooks = hooks;
    this.reading = null;
    $("#walk").addEventListener("input", (event) => this.walk(Number(event.target.value)));
    $("#plot").addEventListener("pointermove", (event) => this.point(event));
    $("#plot").addEventListener("pointerdown", (event) => this.point(event));
  }

  get answer() {
    return this.hooks.answer();
  }

  /** Show where the slider stands, and say what is there. */
  draw() {
    const count = this.answer.lands.reduce((sum, land) => sum + land.s_mm.length, 0);
    set($("#walk"), { max: Math.max(count - 1, 0), disabled: count === 0 || null });
    const text = this.reading ? this.readout(this.reading) : "";
    say($("#walked"), text);
    set($("#walk"), { "aria-valuetext": text || null });
  }

  walk(number) {
    let left = number;
    for (const [land, each] of this.answer.lands.entries()) {
      if (left < each.s_mm.length) {
        this.read({ land, index: left });
        return;
      }
      left -= each.s_mm.length;
    }
  }

  point(event) {
    if (!this.answer || !this.plot.answer) return;
    const found = this.plot.under(event);
    if (!found) return;
    const before = this.answer.lands.slice(0, found.land).reduce((sum, land) => sum + land.s_mm.length, 0);
    $("#walk").value = before + found.index;
    this.read(found);
  }

  read(reading) {
    this.reading = reading;
    this.hooks.changed();
  }

  /** Where it is read, in mm of the section; null where it is nowhere. */
  place() {
    if (!this.reading) return null;
    const { land, index } = this.reading;
    const each = this.answer.lands[land];
    if (!each || index >= each.x_mm.length) {
      this.reading = null;
      return null;
    }
    return { x: each.x_mm[index], y: each.y_mm[index] };
  }

  readout({ land, index }) {
    const each = this.answer.lands[land];
    const inches = this.hooks.inches();
    if (!this.answer.solved) return `Land ${land + 1}: no answer`;
    const state = each.gap_mm[index] > 0 ? `open by ${length(each.gap_mm[index], inches)}` : `presses with ${pressure(each.pressure_kpa[index], inches)}`;
    return `Land ${land + 1}, ${length(each.s_mm[index], inches)} along, at x ${place(each.x_mm[index], inches)}, y ${place(each.y_mm[index], inches)}: ${state}`;
  }
}
