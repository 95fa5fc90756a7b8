// For a classroom: one screen, big type, a question, a guess, and one slider that changes the mold.

import { Asker } from "./ask.js";
import { el, keyed, say, set, svg } from "./dom.js";
import { Job, download, faultsOf } from "./job.js";
import { corners, withKey } from "./mold.js";
import { legend } from "./plot.js";
import { Section } from "./section.js";
import { topOf } from "./tint.js";
import { MM_PER_INCH, keptPer, length, plain, pressure } from "./units.js";

const FIRST = { lesson: "", share: 0, tension: 1, guesses: {} };
const CURVE = { wide: 420, high: 150, left: 46, foot: 34 };

export class Teach {
  constructor(node, store, start) {
    this.node = node;
    this.store = store;
    this.lessons = new Map(start.lessons.map((lesson) => [lesson.name, lesson]));
    this.wrong = start.no_lessons;
    this.state = { ...FIRST, ...store.settings.teach };
    if (!this.lessons.has(this.state.lesson)) this.state = { ...FIRST, lesson: start.lessons[0]?.name };
    this.build();
    this.section = new Section(this.picture, "teach");
    this.smallSection = new Section(this.smallPicture, "teach-small");
    this.states = new WeakMap();
    this.asker = new Asker("teach", (answer, wanted) => this.deliver(answer, wanted));
    this.forget();
  }

  get lesson() {
    return this.lessons.get(this.state.lesson);
  }

  /** What was guessed in this lesson; undefined until somebody guesses. */
  get guess() {
    return this.state.guesses[this.state.lesson];
  }

  build() {
    const picks = [...this.lessons].map(([key, { title }]) => el("label", { class: "toggle" }, el("input", { type: "radio", name: "lesson", value: key, checked: key === this.state.lesson, onchange: () => this.choose(key) }), el("span", {}, title)));
    this.question = el("p", { class: "question" });
    this.guesses = el("div", { class: "row guesses", role: "group", "aria-label": "Guess first" });
    this.said = el("p", { class: "say", role: "status" });
    this.verdict = el("p", { class: "guessed" });
    this.picture = svg("svg", { class: "section", role: "img", "aria-label": "Section of the block" });
    this.smallPicture = svg("svg", { class: "section", role: "img", "aria-label": "Section of the block at small deformation" });
    this.captions = [el("figcaption", { hidden: true }), el("figcaption")];
    this.smallFigure = el("figure", { class: "at-small", hidden: true }, this.smallPicture, this.captions[1]);
    this.pictures = el("div", { class: "teach-pictures" }, el("figure", {}, this.picture, this.captions[0]), this.smallFigure);
    this.slider = this.makeSlider("teach-round", 0, 100, 1, (value) => this.change({ share: value / 100 }));
    this.name = el("label", { for: "teach-round" });
    this.ends = [el("span"), el("span")];
    this.pullName = el("label", { for: "teach-tension" });
    this.pull = this.makeSlider("teach-tension", 0.25, 2, 0.25, (value) => this.change({ tension: value }));
    this.figures = el("dl", { class: "big" });
    this.smallNote = el("p", { class: "small-note" });
    this.curve = svg("svg", { class: "chart grown", role: "img", "aria-label": "Widest gap over the slider" });
    this.look = el("p", { class: "look" });
    this.found = el("p", { class: "found" });
    this.key = el("ul", { class: "legend", "aria-label": "Key to the drawing" });
    this.job = new Job();
    const sheet = el("button", { type: "button", onclick: () => this.print() }, "Sheet for the class");
    const side = el("div", { class: "teach-side" },
      el("div", { class: "long-slider" }, this.name, this.slider, el("span", { class: "ends" }, this.ends)),
      el("div", { class: "long-slider" }, this.pullName, this.pull, el("span", { class: "ends tension-note" })),
      this.figures, this.smallNote, this.curve, el("p", { class: "rule" }, "A band pushes only where it turns: tension times curvature. On a flat it does not push at all."), this.look, this.found,
      el("div", { class: "row" }, el("button", { type: "button", onclick: () => this.take() }, "Take it to the section"), el("button", { type: "button", onclick: () => this.node.requestFullscreen?.() }, "Fill the screen"), sheet), this.job.node);
    const wrong = this.wrong.map((text) => el("p", { class: "fault" }, text));
    this.node.append(el("h2", { class: "unseen" }, "Show a class"), el("div", { class: "lessons", role: "radiogroup", "aria-label": "What to show" }, picks), ...wrong, this.question, this.guesses, this.verdict, this.said, el("div", { class: "teach-stage" }, el("div", {}, this.pictures, this.key), side));
  }

  makeSlider(id, min, max, step, moved) {
    const input = el("input", { type: "range", id, min, max, step });
    input.addEventListener("input", () => moved(Number(input.value)));
    return input;
  }

  choose(key) {
    this.forget();
    this.change({ lesson: key, share: 0, tension: 1 });
  }

  /** Begin a lesson afresh: its scale of colours, its curve, its answer. */
  forget() {
    Object.assign(this, { top: 0, grown: new Map(), firsts: new Map(), foundText: "", answer: null, trouble: "", compares: false });
  }

  change(more) {
    this.state = { ...this.state, ...more };
    this.store.settings.teach = this.state;
    this.store.setting("teach", this.state);
  }

  /** The mold of the lesson as the sliders stand. */
  mold() {
    const { share, tension } = this.state;
    const { mold, slider } = this.lesson;
    const moved = slider.moves.reduce((found, { key, from, to }) => withKey(found, key, between(from, to, share)), mold);
    return { ...moved, band: (moved.band ?? []).map((band) => (band.tension_n_per_mm === undefined ? band : { ...band, tension_n_per_mm: Number((band.tension_n_per_mm * tension).toFixed(4)) })) };
  }

  refresh() {
    if (!this.shown || !this.lesson) return;
    const { share, tension } = this.state;
    const { lesson } = this;
    if (Number(this.slider.value) !== Math.round(100 * share)) this.slider.value = Math.round(100 * share);
    if (Number(this.pull.value) !== tension) this.pull.value = tension;
    say(this.name, lesson.slider.name);
    say(this.pullName, lesson.slider.moves.some(({ key }) => key.startsWith("band.")) ? "Halve or double that pull" : "Pull of the bands");
    lesson.slider.ends.forEach((text, i) => say(this.ends[i], text));
    set(this.slider, { "aria-valuetext": `${Math.round(100 * share)} % of the way from ${lesson.slider.ends[0]} to ${lesson.slider.ends[1]}` });
    const mold = this.mold();
    const pulls = (mold.band ?? []).map((band) => band.tension_n_per_mm).filter(Number.isFinite);
    say(this.node.querySelector(".tension-note"), pulls.length ? `${plain(pulls.reduce((a, b) => a + b) / keptPer("N/mm", this.store.settings.inches), 2)} ${this.store.settings.inches ? "lbf per inch" : "N per mm"} of block` : `${plain(tension, 2)} times`);
    say(this.question, lesson.question);
    say(this.look, lesson.look);
    keyed(this.guesses, lesson.guess, (guess) => `${lesson.name} ${guess.text}`, (guess, i) => el("button", { type: "button", onclick: () => this.guessed(i) }, guess.text), (node, _, i) => set(node, { "aria-pressed": this.guess === i ? "true" : "false" }));
    this.states.set(mold, this.state);
    this.wanted = mold;
    this.asker.want({ mold, inches: this.store.settings.inches });
    this.draw();
  }

  guessed(i) {
    this.change({ guesses: { ...this.state.guesses, [this.state.lesson]: i } });
  }

  /** Take an answer, with the state of the sliders that it was asked in: they may have moved on. */
  deliver(answer, wanted) {
    const { lesson, share, tension } = this.states.get(wanted.mold);
    if (lesson !== this.state.lesson) return;
    this.trouble = answer.status === 200 ? "" : faultsOf(answer);
    if (this.trouble) {
      this.draw();
      return;
    }
    this.noteDoubling(answer, wanted.mold, share, tension);
    this.answer = answer;
    this.of = wanted.mold;
    this.grown.set(`${tension}`, { ...this.grown.get(`${tension}`), [share]: gapOf(answer) });
    this.draw();
  }

  /** Compare with the last answer of the same shape under another tension, and say what held. */
  noteDoubling(answer, mold, share, tension) {
    const shape = JSON.stringify([mold.block, mold.cut, share]) + mold.title;
    const now = { shape, tension, gap: gapOf(answer), closed: closedOf(answer) };
    if (this.firsts.get(answer.fineness)?.shape !== shape) this.firsts.set(answer.fineness, now);
    const first = this.firsts.get(answer.fineness);
    const ratio = now.tension / first.tension;
    const { inches } = this.store.settings;
    const pulledBefore = [...this.firsts.values()].some((each) => each.shape === shape && Math.abs(each.tension - tension) > 0.01);
    if (Math.abs(ratio - 1) < 0.01) this.foundText = pulledBefore ? this.foundText : "";
    else if (first.gap > 0) this.foundText = `${plain(ratio, 2)} times the tension: the widest gap goes from ${length(first.gap, inches)} to ${length(now.gap, inches)}, and ${percent(now.closed)} of the cut is closed, ${percent(first.closed)} before.`;
    else this.foundText = `${plain(ratio, 2)} times the tension: all pressures grow alike.`;
  }

  draw() {
    const { answer } = this;
    if (!this.shown || !this.lesson) return;
    const shows = this.guess !== undefined;
    const has = shows && Boolean(answer); // what is shown of the lesson before is taken away at once
    for (const node of [this.said, this.figures, this.found, this.key, this.curve, this.smallNote]) node.toggleAttribute("hidden", !has); // an SVG has no property of that name
    if (answer?.final) this.compares = Boolean(answer.small); // while the slider moves the pictures keep their places
    this.pair(has && this.compares);
    const right = shows && this.lesson.guess[this.guess]?.right;
    say(this.verdict, shows ? `${right ? "Right." : "Look again."} ${this.lesson.answer}` : "Guess first: then the cut is closed.");
    this.picture.classList.toggle("unanswered", !shows);
    this.picture.classList.toggle("blank", !answer);
    const stale = this.of !== this.wanted || null;
    for (const node of [this.said, this.figures, ...this.captions]) set(node, { "data-stale": stale });
    if (shows && this.trouble) this.said.hidden = false;
    say(this.said, this.trouble || (answer?.verdict.say ?? ""));
    if (!answer) return;
    const { inches } = this.store.settings;
    const rings = [0, 1].map((share) => corners(this.lesson.slider.moves.reduce((found, { key, from, to }) => withKey(found, key, between(from, to, share)), this.lesson.mold).block).flat());
    this.section.fit(rings, 0.22);
    this.top = Math.max(this.top, topOf(answer, answer.small));
    this.drawSmall(answer, rings, inches);
    this.section.draw(answer, { top: this.top, squeezed: 0, inches });
    set(this.picture, { "aria-label": shows ? `Section of the block. ${answer.verdict.say} ${this.section.describe(answer, inches)}` : "Section of the block; its cut is not closed yet." });
    say(this.found, this.foundText ?? "");
    legend(this.key, this.top, inches);
    const least = Math.min(...answer.lands.map((land) => land.least_pressure_kpa));
    const figures = [["of the cut is closed", percent(closedOf(answer))], ["widest gap", length(gapOf(answer), inches)], ["least pressure", pressure(least, inches)]];
    keyed(this.figures, figures, ([name]) => name, () => el("div", {}, el("dt"), el("dd")), (node, [name, value]) => {
      say(node.firstElementChild, name);
      say(node.lastElementChild, value);
    });
    this.drawCurve(inches);
  }

  /** Show one picture, or two with what each of them is. */
  pair(both) {
    this.pictures.classList.toggle("two", both);
    this.smallFigure.hidden = !both;
    this.captions[0].hidden = !both;
  }

  /** Small and large deformation side by side, to one scale, where they differ. */
  drawSmall({ small, final, large, ...answer }, rings, inches) {
    this.smallFigure.classList.toggle("blank", !small);
    say(this.smallNote, final && !small ? "Small and large deformation agree here." : "");
    if (this.smallFigure.hidden) return;
    caption(this.captions[0], large ? "Large deformation: as the block gives way" : "Small deformation, a first answer", answer, inches);
    if (!small) return;
    this.smallSection.fit(rings, 0.22);
    this.smallSection.draw(small, { top: this.top, squeezed: 0, inches });
    caption(this.captions[1], "Small deformation: as if the block kept its shape", small, inches);
    set(this.smallPicture, { "aria-label": `Section of the block at small deformation. ${small.verdict.say} ${this.smallSection.describe(small, inches)}` });
  }

  /** The widest gap over the slider: the line grows as it is dragged. */
  drawCurve(inches) {
    const { wide, high, left, foot } = CURVE;
    const points = Object.entries(this.grown.get(`${this.state.tension}`) ?? {}).map(([share, gap]) => [Number(share), gap]).sort((a, b) => a[0] - b[0]);
    const unit = inches ? MM_PER_INCH : 1;
    const most = Math.max(...[...this.grown.values()].flatMap((each) => Object.values(each)), 0.05);
    const x = (share) => left + (wide - left - 12) * share;
    const y = (gap) => high - foot - (high - foot - 14) * (gap / most);
    set(this.curve, { viewBox: `0 0 ${wide} ${high}` });
    const d = points.map(([share, gap], i) => `${i ? "L" : "M"}${x(share).toFixed(1)} ${y(gap).toFixed(1)}`).join("");
    const [from, to] = this.lesson.slider.ends;
    this.curve.replaceChildren(
      svg("path", { d: `M${left} 10V${high - foot}H${wide - 12}`, class: "axis" }),
      svg("text", { x: left - 6, y: 18, class: "tick right" }, plain(most / unit, inches ? 3 : 2)),
      svg("text", { x: left - 6, y: high - foot, class: "tick right" }, "0"),
      svg("text", { x: left + 4, y: 10, class: "tick" }, `widest gap, ${inches ? "in" : "mm"}`),
      svg("text", { x: left, y: high - foot + 18, class: "tick" }, from),
      svg("text", { x: wide - 12, y: high - foot + 18, class: "tick right" }, to),
      svg("path", { d, class: "chart-line" }),
      ...points.map(([share, gap]) => svg("circle", { cx: x(share), cy: y(gap), r: share === this.state.share ? 5 : 2.6, class: "chart-dot" })),
    );
  }

  async print() {
    const made = await this.job.ask("/class", { lesson: this.state.lesson, inches: this.store.settings.inches });
    if (!made) return;
    const name = `${this.state.lesson}.pdf`;
    download(made.pdf, "application/pdf", name);
    this.job.say(`Saved ${name} where the browser puts its downloads.`);
  }

  take() {
    this.store.begin(this.mold());
    location.hash = "bench";
  }
}

/** A number, or a list of them, between two others. */
function between(from, to, share) {
  if (Array.isArray(from)) return from.map((value, i) => between(value, to[i], share));
  return Number((from + share * (to - from)).toFixed(4));
}

/** Which answer a picture shows, and its figures. */
function caption(node, name, answer, inches) {
  const least = Math.min(...answer.lands.map((land) => land.least_pressure_kpa));
  const drawn = answer.drawing.gap_factor;
  const text = `${percent(closedOf(answer))} closed, widest gap ${length(gapOf(answer), inches)}${gapOf(answer) > 0 && drawn !== 1 ? `, drawn ${plain(drawn)} times as wide` : ""}; least pressure ${pressure(least, inches)}.`;
  if (!node.childElementCount) node.append(el("strong"), el("span"));
  say(node.firstElementChild, name);
  say(node.lastElementChild, text);
}

const gapOf = (answer) => Math.max(0, ...answer.lands.map((land) => land.largest_gap_mm));
const percent = (share) => `${Math.round(100 * share)} %`;

function closedOf({ lands }) {
  const whole = lands.reduce((sum, land) => sum + land.length_mm, 0);
  return lands.reduce((sum, land) => sum + land.closed_share * land.length_mm, 0) / (whole || 1);
}
