// For a classroom: one screen, big type, from square to round by one slider.

import { Asker } from "./ask.js";
import { el, keyed, say, set } from "./dom.js";
import { legend } from "./plot.js";
import { Section } from "./section.js";
import { topOf } from "./tint.js";
import { length, plain, pressure } from "./units.js";

const barrel = (i, x, y) => ({ name: `barrel ${i}`, shape: "round", diameter_mm: 10, centre_mm: [x, y] });

const LESSONS = {
  four: {
    name: "Four barrels across",
    look: "Watch the middle of the cut while the corners become round.",
    width_mm: 120, height_mm: 120,
    cavity: [-24, -8, 8, 24].map((x, i) => barrel(i + 1, x, 40)),
    path_mm: [[-60, 40], [60, 40]],
  },
  central: {
    name: "One barrel, cut from the top",
    look: "A square with thick walls and a cut straight to a central cavity closes about as well as a round block.",
    width_mm: 120, height_mm: 120,
    cavity: [{ name: "barrel", shape: "round", diameter_mm: 40, centre_mm: [0, 0] }],
    path_mm: [[0, 60], [0, 20]],
  },
  flat: {
    name: "A flat cavity",
    look: "The cavity's shape can decide more than the outline: bending goes with the thinner walls.",
    width_mm: 120, height_mm: 120,
    cavity: [{ name: "flat", shape: "oval", width_mm: 90, height_mm: 20, centre_mm: [0, 0] }],
    path_mm: [[0, 60], [0, 10]],
  },
  low: {
    name: "A low, wide block",
    look: "The web between the cavities lies far from where the band turns.",
    width_mm: 180, height_mm: 60,
    cavity: [{ name: "left", shape: "round", diameter_mm: 20, centre_mm: [-36, 0] }, { name: "right", shape: "round", diameter_mm: 20, centre_mm: [36, 0] }],
    path_mm: [[-90, 0], [90, 0]],
  },
};

const FIRST = { lesson: "four", share: 0, tension: 0.6 };

export class Teach {
  constructor(node, store) {
    this.node = node;
    this.store = store;
    this.state = { ...FIRST, ...store.settings.teach };
    if (!(this.state.lesson in LESSONS)) this.state.lesson = FIRST.lesson;
    this.build();
    this.section = new Section(this.picture, "teach");
    this.asker = new Asker("teach", (answer, wanted) => this.deliver(answer, wanted));
  }

  build() {
    const lessons = Object.entries(LESSONS).map(([key, { name }]) => el("label", { class: "toggle" }, el("input", { type: "radio", name: "lesson", value: key, checked: key === this.state.lesson, onchange: () => this.change({ lesson: key, share: 0 }) }), el("span", {}, name)));
    this.said = el("p", { class: "say", role: "status" });
    this.picture = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    set(this.picture, { class: "section", role: "img", "aria-label": "Section of the block" });
    this.roundness = this.slider("teach-round", 0, 100, 1, (value) => this.change({ share: value / 100 }));
    this.tension = this.slider("teach-tension", 0.1, 1.2, 0.1, (value) => this.change({ tension: value }));
    this.figures = el("dl", { class: "big" });
    this.look = el("p", { class: "look" });
    this.found = el("p", { class: "found" });
    this.key = el("ul", { class: "legend", "aria-label": "Key to the drawing" });
    const side = el("div", { class: "teach-side" },
      el("div", { class: "long-slider" }, el("label", { for: "teach-round" }, "Corners of the block"), this.roundness, el("span", { class: "ends" }, el("span", {}, "square"), el("span", {}, "round"))),
      el("div", { class: "long-slider" }, el("label", { for: "teach-tension" }, "Tension of the bands"), this.tension, el("span", { class: "ends tension-note" })),
      this.figures, el("p", { class: "rule" }, "A band pushes only where it turns: tension times curvature. On a flat it does not push at all."), this.look, this.found,
      el("div", { class: "row" }, el("button", { type: "button", onclick: () => this.take() }, "Take it to the section"), el("button", { type: "button", onclick: () => this.node.requestFullscreen?.() }, "Fill the screen")));
    this.node.append(el("h2", { class: "unseen" }, "Show a class"), el("div", { class: "lessons", role: "radiogroup", "aria-label": "What to show" }, lessons), this.said, el("div", { class: "teach-stage" }, el("div", {}, this.picture, this.key), side));
  }

  slider(id, min, max, step, moved) {
    const input = el("input", { type: "range", id, min, max, step });
    input.addEventListener("input", () => moved(Number(input.value)));
    return input;
  }

  change(more) {
    this.state = { ...this.state, ...more };
    this.store.settings.teach = this.state;
    this.store.setting("teach", this.state);
  }

  /** The mold of the lesson as the sliders stand. */
  mold() {
    const { lesson, share, tension } = this.state;
    const { name, width_mm, height_mm, cavity, path_mm } = LESSONS[lesson];
    const most = Math.min(width_mm, height_mm) / 2;
    const round_mm = Number((2 + share * (most - 2)).toFixed(2));
    const block = width_mm === height_mm ? { shape: "square", width_mm, round_mm } : { shape: "rectangle", width_mm, height_mm, round_mm };
    return {
      title: name, length_mm: 140, rubber: { youngs_modulus_mpa: 0.6, poisson: 0.499 }, block, cavity,
      cut: [{ name: "cut", path_mm }], band: [{ tension_n_per_mm: tension }],
    };
  }

  refresh() {
    if (!this.shown) return;
    const { share, tension, lesson } = this.state;
    if (Number(this.roundness.value) !== Math.round(100 * share)) this.roundness.value = Math.round(100 * share);
    if (Number(this.tension.value) !== tension) this.tension.value = tension;
    set(this.roundness, { "aria-valuetext": `${Math.round(100 * share)} % round` });
    say(this.node.querySelector(".tension-note"), `${plain(tension, 1)} N per mm of block`);
    say(this.look, LESSONS[lesson].look);
    this.asker.want({ mold: this.mold(), inches: this.store.settings.inches });
    this.draw();
  }

  deliver(answer, wanted) {
    if (answer.status !== 200) {
      say(this.said, answer.faults?.[0]?.say ?? answer.error);
      return;
    }
    this.noteDoubling(answer, wanted);
    this.answer = answer;
    this.draw();
  }

  /** Compare with the last answer of the same shape under another tension, and say what held. */
  noteDoubling(answer, { mold }) {
    const shape = JSON.stringify(mold.block) + mold.title + answer.fineness;
    const now = { shape, tension: mold.band[0].tension_n_per_mm, gap: gapOf(answer), closed: closedOf(answer) };
    if (this.first?.shape !== shape) this.first = now;
    const ratio = now.tension / this.first.tension;
    const { inches } = this.store.settings;
    if (Math.abs(ratio - 1) < 0.01) this.foundText = "";
    else if (this.first.gap > 0) this.foundText = `${plain(ratio, 2)} times the tension: the widest gap goes from ${length(this.first.gap, inches)} to ${length(now.gap, inches)}, and ${percent(now.closed)} of the cut is closed, ${percent(this.first.closed)} before.`;
    else this.foundText = `${plain(ratio, 2)} times the tension: all pressures grow alike.`;
  }

  draw() {
    const { answer } = this;
    if (!answer || !this.shown) return;
    const { inches } = this.store.settings;
    const { width_mm, height_mm } = LESSONS[this.state.lesson];
    const [a, b] = [width_mm / 2, height_mm / 2];
    this.section.fit([[-a, -b, a, b]], 0.22);
    this.section.draw(answer, { top: topOf(answer), squeezed: 0, inches });
    set(this.picture, { "aria-label": `Section of the block. ${answer.verdict.say} ${this.section.describe(answer, inches)}` });
    say(this.said, answer.verdict.say);
    say(this.found, this.foundText ?? "");
    legend(this.key, topOf(answer));
    const least = Math.min(...answer.lands.map((land) => land.least_pressure_kpa));
    const figures = [["of the cut is closed", percent(closedOf(answer))], ["widest gap", length(gapOf(answer), inches)], ["least pressure", pressure(least)]];
    keyed(this.figures, figures, ([name]) => name, () => el("div", {}, el("dt"), el("dd")), (node, [name, value]) => {
      say(node.firstElementChild, name);
      say(node.lastElementChild, value);
    });
  }

  take() {
    this.store.begin(this.mold());
    location.hash = "bench";
  }
}

const gapOf = (answer) => Math.max(0, ...answer.lands.map((land) => land.largest_gap_mm));
const percent = (share) => `${Math.round(100 * share)} %`;

function closedOf({ lands }) {
  const whole = lands.reduce((sum, land) => sum + land.length_mm, 0);
  return lands.reduce((sum, land) => sum + land.closed_share * land.length_mm, 0) / (whole || 1);
}
