// The section on the bench: the mold's fields, its drawing, its answer, and the pinned state.

import { AdviceSearch } from "./advice.js";
import { Air } from "./air.js";
import { Asker, DEAF, get } from "./ask.js";
import { changesBetween } from "./changes.js";
import { $, el, guarded, keyed, say, set } from "./dom.js";
import { makeKnife } from "./drawcut.js";
import { drawGroups } from "./fields.js";
import { Flashed } from "./flashed.js";
import { gridOf, makeHandles } from "./handles.js";
import { corners, finitePoints, handlesOf } from "./mold.js";
import { groupsOf } from "./panel.js";
import { Plot, legend } from "./plot.js";
import { Section } from "./section.js";
import { drawTable, drawTables } from "./table.js";
import { isDark, topOf } from "./tint.js";
import { length, plain } from "./units.js";
import { Sureness } from "./variations.js";
import { drawnVents } from "./vents.js";
import { Walk } from "./walk.js";

const LISTEN_MS = 1500;
const BELOW_MS = 60; // how far plot and tables may lag behind a hand
const FIRST = ["Coarse answer", "Answer at small deformation"];
const rank = ({ fineness }) => (fineness < 1 ? 0 : 1);
const MOVES = matchMedia("(prefers-reduced-motion: reduce)");

export class Bench {
  constructor(store, start) {
    this.store = store;
    this.start = start;
    this.shown = true;
    this.faults = [];
    this.opened = new Map();
    this.squeezed = 0;
    this.section = new Section($("#section"), "now");
    this.former = new Section($("#pinned"), "pinned");
    this.plot = new Plot($("#plot"), "now");
    this.walk = new Walk(this.plot, { answer: () => this.answer, inches: () => store.settings.inches, changed: () => this.draw() });
    this.asker = new Asker("bench", (answer, wanted) => this.deliver(answer, wanted), (on) => this.showBusy(on), (news) => this.hear(news), "/close", true);
    this.pinnedAsker = new Asker("pinned", (answer) => this.deliverPinned(answer));
    this.handles = makeHandles(this.section, {
      mold: () => store.mold,
      inches: () => store.settings.inches,
      change: (mold, tag) => store.change(mold, tag),
      hold: (on) => this.hold(on),
    });
    makeKnife(this.section, $("#draw-cut"), {
      mold: () => store.mold,
      grid: () => gridOf(store.settings.inches),
      change: (mold, tag) => store.change(mold, tag),
    });
    this.advice = new AdviceSearch($("#advice-search"), store);
    this.sure = new Sureness((answer, wanted) => this.takeSure(answer, wanted));
    this.air = new Air($("#air"), store, () => this.redraw());
    this.flashed = new Flashed($("#flashed"), store);
    this.wire();
    this.ask();
    this.askPinned();
  }

  get page() {
    const { store } = this;
    this.page_ ??= { opened: this.opened, limits: this.start.limits, change: (mold, tag) => store.change(mold, tag), hold: (on) => this.hold(on) };
    return Object.assign(this.page_, { mold: store.mold, inches: store.settings.inches, faults: this.faults, held: this.held });
  }

  wire() {
    const { store } = this;
    for (const id of ["bands", "points"]) $(`#${id}`).addEventListener("change", () => this.draw());
    $("#squeezed").addEventListener("change", (event) => this.squeeze(event.target.checked ? 1 : 0));
    $("#pin").addEventListener("click", () => {
      this.pinnedAnswer = null;
      store.set("pinned", store.mold);
    });
    $("#stop").addEventListener("click", () => this.asker.stop());
    $("#unpin").addEventListener("click", () => store.set("pinned", undefined));
    $("#swap").addEventListener("click", () => {
      const { pinned } = store.extra;
      store.set("pinned", store.mold);
      store.change(pinned, `swap ${Date.now()}`);
    });
    new ResizeObserver(([{ target }]) => $("#pictures").style.setProperty("--verdict-high", `${target.offsetHeight}px`)).observe($("#verdict"));
  }

  refresh(why) {
    this.advice.refresh();
    this.flashed.refresh();
    this.air.refresh(why);
    if (why === "begin") {
      this.answer = null;
      this.pinnedAnswer = null;
      this.walk.reading = null;
      this.section.box = null;
    }
    if (["mold", "begin"].includes(why)) this.sure.forget();
    if (["mold", "begin", "settings", "pinned"].includes(why)) this.ask(why !== "mold");
    if (["begin", "settings", "pinned"].includes(why)) this.askPinned();
    if (!this.shown) return;
    if (["view", "size", "settings", "begin"].includes(why)) this.shows = null;
    if (why === "mold" && this.held) {
      this.drawSoon();
      return;
    }
    guarded(() => this.drawPanel());
    this.draw();
  }

  /** While a point is dragged, draw once a frame, however often it moves and however many answers come. */
  drawSoon() {
    this.dim();
    this.frame ??= requestAnimationFrame(() => {
      this.frame = null;
      guarded(() => this.drawPanel());
      this.draw();
    });
  }

  /** Draw what is under the section in a frame of its own while a hand moves something, so that none is long. */
  drawBelow(deed) {
    if (!this.held) {
      clearTimeout(this.later);
      this.later = null;
      deed();
      return;
    }
    this.below = deed;
    this.later ??= setTimeout(() => {
      this.later = null;
      guarded(() => this.below());
    }, BELOW_MS);
  }

  /** Dim what is said of an earlier mold. */
  dim() {
    set($("#verdict"), { "data-stale": this.stale || null });
    set($("#view-bench"), { "data-stale": this.stale || null });
  }

  ask(whole = false) {
    const { mold, settings, extra } = this.store;
    this.asker.want({ mold, inches: settings.inches, against: extra.pinned }, !whole || !this.answer);
  }

  askPinned() {
    const { extra, settings } = this.store;
    const here = this.answer?.final && this.answered === extra.pinned;
    if (extra.pinned && here && !this.pinnedAnswer) this.pinnedAnswer = this.answer;
    else if (extra.pinned) this.pinnedAsker.want({ mold: extra.pinned, inches: settings.inches }, false);
    else this.pinnedAnswer = null;
  }

  /** Whether the answer, or the trouble, belongs to another mold than the one on the bench. */
  get stale() {
    return Boolean(this.heard) && this.heard !== this.store.mold;
  }

  /**
   * Take an answer. What fails on the fine mesh, after the coarse one has answered for the same
   * mold, does not take that answer away: it stands beside it.
   */
  deliver(answer, wanted) {
    const whole = answer.status === 200;
    const hasCoarse = !whole && !answer.faults && this.answered === wanted.mold && this.answer;
    this.trouble = whole || hasCoarse ? null : answer;
    this.refused = hasCoarse ? (answer.error ?? "") : "";
    this.faults = answer.faults ?? [];
    this.heard = wanted.mold;
    if (whole) Object.assign(this, { answer, answered: wanted.mold });
    if (whole && answer.final) this.sure.ask(wanted);
    if (answer.status === DEAF) this.listenFor();
    if (this.held) {
      this.drawSoon();
      return;
    }
    guarded(() => this.drawPanel());
    this.draw();
  }

  /** The server does not answer: ask again now and then, and go on when it is back. */
  listenFor() {
    clearTimeout(this.listening);
    this.listening = setTimeout(async () => {
      const { status } = await get("/start");
      if (status === 200) this.ask(true);
      else this.listenFor();
    }, LISTEN_MS);
  }

  /** What takes longer than a second says for how long, and can be stopped. */
  showBusy(on) {
    set($("#busy"), { "data-on": on || null });
    clearInterval(this.counting);
    $("#waiting").hidden = true;
    this.doing = "";
    if (!on) return;
    const begun = performance.now();
    this.counting = setInterval(() => {
      const seconds = Math.floor((performance.now() - begun) / 1000);
      $("#waiting").hidden = seconds < 1;
      say($("#waited"), `Closing the cuts${this.doing}: ${seconds} s`);
    }, 250);
  }

  hear({ what, share }) {
    this.doing = share === null ? "" : `, ${what}, ${Math.round(100 * share)} % of the loads`;
  }

  /** Take how sure the grade is; it is of no use where the mold is another one by now. */
  takeSure(answer, { mold, inches }) {
    if (this.answered !== mold || !this.answer?.final || this.store.settings.inches !== inches) return;
    this.answer.verdict = answer.verdict;
    this.answer.varied = answer;
    this.drawVerdict();
  }

  redraw() {
    this.shows = null;
    if (this.shown) this.draw();
  }

  deliverPinned(answer) {
    this.pinnedAnswer = answer.status === 200 ? answer : null;
    this.draw();
  }

  hold(on) {
    this.held = on;
    if (!on) {
      this.shows = null;
      guarded(() => this.drawPanel());
      this.draw();
    }
  }

  squeeze(goal) {
    const begin = this.squeezed;
    const time = MOVES.matches ? 0 : 420;
    const start = performance.now();
    const frame = (now) => {
      const share = time ? Math.min(1, (now - start) / time) : 1;
      this.squeezed = begin + (goal - begin) * (share * share * (3 - 2 * share));
      this.draw();
      if (share < 1) requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }

  draw() {
    this.drawVerdict();
    const { answer, pinnedAnswer } = this;
    const pinned = Boolean(this.store.extra.pinned);
    $("#pinned-figure").hidden = !pinned;
    $("#now-caption").hidden = !pinned;
    $("#difference").hidden = !pinned;
    set($("#difference"), { "data-stale": this.stale || null });
    $("#pictures").classList.toggle("two", pinned);
    $("#view-bench").classList.toggle("compares", pinned);
    if (!answer) return;
    const own = topOf(answer, pinned ? pinnedAnswer : null);
    const top = !answer.final ? Math.max(own, this.top ?? 0) : own; // colours keep their scale while something moves
    this.top = top;
    const how = { top, squeezed: this.squeezed, inches: this.store.settings.inches, bands: $("#bands").checked, held: this.held };
    const shows = [answer, pinned && pinnedAnswer, this.squeezed, how.inches, how.bands, this.walk.reading, this.refused, this.store.settings.theme, this.store.extra.pinned, isDark(), this.section.box];
    const same = this.shows?.length === shows.length && shows.every((each, i) => each === this.shows[i]);
    this.drawSection(how, same);
    if (same) return;
    this.shows = [...shows.slice(0, -1), this.section.box];
    if (pinned && pinnedAnswer) this.drawPinned(how);
    this.drawWords(how);
    legend($("#legend"), top, how.inches, ["★ worst place", "△ strained most", ...(drawnVents(this.store.mold).length ? ["v1 vent, dotted"] : []), ...(this.air.pockets.length ? ["◌ air that stays"] : [])]);
    this.drawBelow(() => this.drawLands(answer, how));
  }

  drawLands(answer, how) {
    const solved = answer.solved && answer.lands.length > 0;
    $("#more-lands").hidden = !solved;
    if (solved) this.plot.draw(answer, { ...how, reading: this.walk.reading });
    drawTable(answer, how.inches);
    drawTables($("#tables"), answer.tables);
    if (answer.final) list($("#remarks"), answer.remarks); // no other answer has any
    this.walk.draw();
  }

  /** Draw the section; where the answer is the one drawn already, only what is being changed. */
  drawSection(how, same = false) {
    const { section, answer } = this;
    const { mold } = this.store;
    if (!same) {
      if (!this.held || !section.box) section.fit(this.extent());
      const reading = this.walk.place();
      section.draw(answer, { ...how, reading, pockets: this.air.pockets, vents: drawnVents(mold), taken: handlesOf(mold).map(({ x, y }) => [x, y]) });
    }
    const stale = this.answered !== mold;
    section.node.classList.toggle("stale", stale);
    section.drawSketch(stale ? [mold.block, ...(mold.cavity ?? [])].map((shape) => sketched(() => corners(shape ?? {}))) : [], stale ? (mold.cut ?? []).map((cut) => finitePoints(cut.path_mm)) : []);
    section.handles.setAttribute("visibility", $("#points").checked ? "visible" : "hidden");
    this.handles.draw();
    if (!same) say($("#described"), section.describe(answer, how.inches));
  }

  /** Rings that have to fit into the view: of both sections, so that they are drawn to one scale. */
  extent() {
    const both = this.store.extra.pinned && this.pinnedAnswer ? [this.answer, this.pinnedAnswer] : [this.answer];
    return both.flatMap(({ drawing }) => [drawing.outline, ...drawing.bodies.flatMap((body) => body.rest)]);
  }

  drawPinned(how) {
    const { verdict } = this.pinnedAnswer;
    this.former.fit(this.extent());
    this.former.draw(this.pinnedAnswer, how);
    set(this.former.node, { "aria-label": `Section as pinned. ${verdict.say} ${this.former.describe(this.pinnedAnswer, how.inches)}` });
    say($("#pinned-say"), verdict.say);
    say($("#now-say"), this.answer.verdict.say);
  }

  drawWords(how) {
    const { answer } = this;
    const { drawing, lands } = answer;
    const open = lands.some((land) => land.largest_gap_mm > 0);
    const notes = [];
    if (how.squeezed) notes.push(`The block is drawn ${plain(drawing.factor)} times as squeezed as it is. The dashed lines show it before.`);
    else if (open && drawing.gap_factor !== 1) notes.push(`Gaps drawn ${plain(drawing.gap_factor)} times as wide as they are.`);
    if (answer.large) notes.push(`This answer follows the block as it deforms.${answer.small ? ` At small deformation the widest gap would be ${length(answer.small.largest_gap_mm, how.inches)}.` : ""}`);
    if (!answer.final) notes.push(this.refused ? `${FIRST[rank(answer)]}, and the last one failed. ${this.refused}` : `${FIRST[rank(answer)]}: a better one follows.`);
    say($("#scale-note"), notes.join(" "));
    list($("#differences"), answer.difference ?? []);
    const { pinned } = this.store.extra;
    const changes = pinned ? changesBetween(pinned, this.answered, this.start, how.inches) : [];
    say($("#changes"), changes.map((text) => `${text}. `).join("").trim());
  }

  drawVerdict() {
    const { trouble, answer } = this;
    const node = $("#verdict");
    say($("#of"), this.store.mold.title || "Without a title");
    const state = trouble || (answer && !answer.solved) ? "unclear" : !answer ? "waiting" : ["Clean", "Fine line"].includes(answer.verdict.grade) ? "seals" : "leaks";
    set(node, { "data-state": state });
    this.dim();
    const apart = { seals: 0, leaks: 5, unclear: 9, waiting: 2 }[state];
    const [upper, lower] = node.querySelectorAll(".sign path");
    set(upper, { d: `M4 4H40V${21 - apart}Q22 ${21 + (apart ? -apart * 0.8 : 0)} 4 ${21 - apart * 0.2}Z` });
    set(lower, { d: `M4 40H40V${23 + apart}Q22 ${23 + (apart ? apart * 0.8 : 0)} 4 ${23 + apart * 0.2}Z` });
    say($("#say"), trouble ? this.troubleSaid() : (answer?.verdict.say ?? "Closing the cuts …"));
    const { do: first, sure, advice } = answer?.verdict ?? {};
    list($("#advice"), trouble || !answer ? [] : [first, sure, ...advice].filter(Boolean));
    this.sure.draw(trouble ? null : answer?.varied);
    this.drawFaults();
  }

  troubleSaid() {
    const count = this.faults.length;
    if (!count) return this.trouble.error ?? "There is no answer.";
    return count === 1 ? "One fault to mend first." : `${count} faults to mend first.`;
  }

  drawFaults() {
    keyed($("#faults"), this.faults, (fault, i) => `${i} ${fault.say}`, () => el("li"), (node, fault) => {
      if (node.said === fault.say && node.placed === fault.placed && node.label === fault.label) return;
      Object.assign(node, { said: fault.say, placed: fault.placed, label: fault.label });
      const text = `${fault.label ?? fault.words}: ${fault.text}`;
      node.replaceChildren(fault.placed ? el("button", { type: "button", class: "link", onclick: () => this.goTo(fault.placed) }, text) : text);
    });
  }

  goTo(id) {
    const node = document.getElementById(id);
    const group = node?.closest("details");
    if (group) group.open = true;
    node?.scrollIntoView({ block: "center" });
    node?.focus();
  }

  drawPanel() {
    drawGroups($("#panel"), groupsOf(this.store.mold, this.start), this.page);
  }
}

function list(node, sentences) {
  keyed(node, sentences, (text, i) => String(i), () => el("li"), (item, text) => say(item, text));
}

function sketched(make) {
  try {
    return make();
  } catch {
    return [];
  }
}
