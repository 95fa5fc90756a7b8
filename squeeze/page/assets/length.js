// The block from the side: bands at their places, and the pressure on the lands between them.

import { Asker } from "./ask.js";
import { Layer, el, keyed, say, set, svg } from "./dom.js";
import { Job, faultsOf } from "./job.js";
import { legend } from "./plot.js";
import { levels } from "./tint.js";
import { MM_PER_INCH, keptPer, length, place, plain, pressure } from "./units.js";

const [RIGHT, HEAD, BETWEEN, FOOT] = [20, 64, 34, 40];
const [SLIM, NAMED_FROM, NAMED] = [24, 620, 104]; // left margin; wide pictures name the ends of a land there
const [LEAST, MOST] = [44, 150];
const HATCH = "length-hatch";

export class Length {
  constructor(node, store) {
    this.node = node;
    this.store = store;
    this.build();
    this.asker = new Asker("length", (answer, wanted) => this.deliver(answer, wanted), (on) => this.showBusy(on), (news) => say(this.busy, `${news.what} …`), "/along");
  }

  build() {
    this.said = el("p", { class: "say", role: "status" });
    this.busy = el("p", { class: "study-note" });
    this.stop = el("button", { type: "button", class: "small", hidden: true, onclick: () => this.asker.stop() }, "Stop");
    this.picture = svg("svg", { class: "side-view", role: "group", "aria-label": "The block from the side, with its bands" });
    const pattern = svg("pattern", { id: HATCH, patternUnits: "userSpaceOnUse", width: 7, height: 7, patternTransform: "rotate(45)" });
    pattern.append(svg("rect", { class: "hatch-ground", width: 7, height: 7 }), svg("path", { class: "hatch-line", d: "M0 0V7", "stroke-width": 3 }));
    this.picture.append(svg("defs", {}, pattern));
    this.maps = new Layer(this.picture, "maps");
    this.bands = svg("g", { class: "band-places" });
    this.picture.append(this.bands);
    this.titles = new Layer(this.picture, "titles");
    this.key = el("ul", { class: "legend", "aria-label": "Key to the drawing" });
    this.read = el("p", { class: "study-note" });
    this.note = el("p", { class: "lead" });
    this.add = el("button", { type: "button", onclick: () => this.addBand() }, "Add a band");
    this.even = el("button", { type: "button", onclick: () => this.spread() }, "Spread evenly");
    this.job = new Job();
    this.count = el("button", { type: "button", onclick: () => this.search() }, "How many bands, and where?");
    this.found = el("div", { class: "bands-found" });
    this.caveats = el("ul", { class: "remarks" });
    this.picture.addEventListener("pointermove", (event) => this.tell(event));
    const side = el("div", { class: "length-side" }, el("h3", {}, "Bands"), this.note, el("div", { class: "row" }, this.add, this.even), el("h3", {}, "How many it takes"), this.count, this.job.node, this.found);
    this.node.append(el("h2", {}, "Along the block"), this.said, el("div", { class: "row" }, this.busy, this.stop),
      el("div", { class: "length-stage" }, el("div", {}, this.picture, this.read, this.key, this.caveats), side));
  }

  refresh(why) {
    if (!this.shown) return;
    if (why !== "size") this.asker.want({ mold: this.store.mold, inches: this.store.settings.inches }, false);
    this.draw();
  }

  showBusy(on) {
    this.stop.hidden = !on;
    if (!on) say(this.busy, "");
  }

  deliver(answer, wanted) {
    this.heard = wanted.mold;
    this.trouble = answer.status === 200 ? null : answer;
    if (answer.status === 200) this.answer = answer;
    this.draw();
  }

  /** The kind of band whose strands are dragged: the first that has places; its number, or -1. */
  get kind() {
    return (this.store.mold.band ?? []).findIndex((band) => band.tension_n_per_mm === undefined);
  }

  /** Every strand with a place: {kind, index, at}. */
  strands() {
    const { mold } = this.store;
    const whole = mold.length_mm ?? 100;
    return (mold.band ?? []).flatMap((band, kind) => (band.tension_n_per_mm !== undefined ? [] : placesOf(band, whole).map((at, index) => ({ kind, index, at }))));
  }

  /** Put a band's strands at places; they replace `count`. */
  put(kind, places, tag) {
    const { mold } = this.store;
    const { count, ...band } = mold.band[kind];
    const list = [...mold.band];
    list[kind] = { ...band, at_mm: [...places].sort((a, b) => a - b) };
    this.store.change({ ...mold, band: list }, tag);
  }

  addBand() {
    const { mold } = this.store;
    const { kind } = this;
    if (kind < 0) {
      this.store.change({ ...mold, band: [...(mold.band ?? []), { stock: "64", at_mm: [round(mold.length_mm / 2)] }] }, `band ${Date.now()}`);
      return;
    }
    const places = placesOf(mold.band[kind], mold.length_mm);
    const ends = [0, ...places, mold.length_mm];
    const gaps = ends.slice(1).map((at, i) => [at - ends[i], (at + ends[i]) / 2]);
    const [, middle] = gaps.reduce((most, gap) => (gap[0] > most[0] ? gap : most));
    this.put(kind, [...places, round(middle)], `band ${Date.now()}`);
  }

  spread() {
    const { mold } = this.store;
    const list = (mold.band ?? []).map(({ at_mm, ...band }) => (at_mm ? { ...band, count: at_mm.length } : band));
    this.store.change({ ...mold, band: list }, `spread ${Date.now()}`);
  }

  async search() {
    const { mold, settings } = this.store;
    const found = await this.job.ask("/bands", { mold, inches: settings.inches });
    if (!found) return;
    const table = found.table && el("div", { class: "table-scroll", tabindex: 0, role: "group", "aria-label": found.table.caption }, el("table", {}, el("caption", {}, found.table.caption), el("thead", {}, el("tr", {}, found.table.heads.map((text) => el("th", { scope: "col" }, text)))), el("tbody", {}, found.table.rows.map((row) => el("tr", {}, row.map((text, i) => el(i ? "td" : "th", i ? {} : { scope: "row" }, text)))))));
    const take = found.mold && el("button", { type: "button", class: "main", onclick: () => this.store.change({ ...this.store.mold, band: found.mold.band }, `plan ${Date.now()}`) }, "Put them there");
    this.found.replaceChildren(...[el("p", { class: "found-say" }, found.say), el("ul", {}, found.lines.map((text) => el("li", {}, text))), take, table, el("ul", { class: "remarks" }, found.remarks.map((text) => el("li", {}, text)))].filter(Boolean));
  }

  /* ---- drawing ---- */

  draw() {
    if (!this.shown) return;
    const { answer, trouble } = this;
    const stale = this.heard !== this.store.mold;
    say(this.said, trouble ? faultsOf(trouble) : answer ? answer.say.join(" ") : "Closing the cuts over the length …");
    set(this.said, { "data-stale": stale || null });
    set(this.picture, { "data-stale": stale || null });
    const strands = this.strands();
    say(this.note, strands.length ? `${strands.length} strands. Drag one along the block, or press arrow keys on it. Delete takes it away.` : "No band has a place yet. Add one. A pull per mm of block is spread over the length.");
    this.even.disabled = !(this.store.mold.band ?? []).some((band) => band.at_mm);
    if (!answer?.lands) return;
    const wide = Math.max(this.picture.clientWidth || 600, 260);
    const { inches } = this.store.settings;
    this.scale = levels(Math.max(...answer.lands.flatMap((land) => land.pressure_kpa.flat()), 1e-3), 1 / keptPer("kPa", inches));
    this.whole = this.store.mold.length_mm ?? answer.length_mm;
    this.left = wide < NAMED_FROM ? SLIM : NAMED;
    const room = wide - this.left - RIGHT;
    this.x = (z) => this.left + (room * z) / this.whole;
    this.at = (px) => (this.whole * (px - this.left)) / room;
    const rows = answer.lands.map((land) => Math.min(MOST, Math.max(LEAST, (room * land.length_mm) / answer.length_mm)));
    const high = HEAD + rows.reduce((sum, each) => sum + each + BETWEEN, 0) + FOOT;
    set(this.picture, { viewBox: `0 0 ${wide} ${high}`, height: high });
    this.drawMaps(answer, rows, high);
    this.drawStrands(strands, high);
    legend(this.key, this.scale.step * this.scale.count, inches, ["★ worst place"]);
    const doubts = [...answer.doubts, answer.smeared_n_per_mm ? "A pull per mm of block has no place: it is spread over the length." : "", `A land holds where it presses ${plain(answer.asked, 1)} times as hard as the resin: ${pressure(answer.needed_kpa, inches)}.`].filter(Boolean);
    keyed(this.caveats, doubts, (text) => text, () => el("li"), (item, text) => say(item, text));
  }

  drawMaps(answer, rows, high) {
    const { inches } = this.store.settings;
    this.maps.begin();
    this.titles.begin();
    this.places = [];
    let top = HEAD;
    answer.lands.forEach((land, number) => {
      const tall = rows[number];
      const [x0, x1] = [this.x(0), this.x(answer.length_mm)];
      const step = (x1 - x0) / land.z_mm.length;
      const y = (s) => top + tall * (1 - s / land.length_mm);
      this.places.push({ top, tall, step, x0, land });
      this.titles.put(`name ${number}`, "text", { x: x0, y: top - 7, class: "title" }, `${number + 1}  ${land.name}`);
      if (this.left === NAMED) this.nameEnds(land, number, x0 - 8, top, tall);
      this.drawCells(land, number, x0, step, y);
      this.maps.put(`frame ${number}`, "rect", { x: x0, y: top, width: x1 - x0, height: tall, class: "axis" });
      if (answer.worst?.land === number) this.maps.put("star", "text", { x: this.x(answer.worst.z_mm), y: Math.min(top + tall - 2, y(answer.worst.s_mm) + 6), class: "star-text" }, "★");
      top += tall + BETWEEN;
    });
    const unit = inches ? MM_PER_INCH : 1;
    for (let k = 0; k <= 4; k += 1) {
      const z = (this.whole * k) / 4;
      this.maps.put(`tick ${k}`, "text", { x: this.x(z), y: high - FOOT + 10, class: "tick middle" }, plain(z / unit, inches ? 2 : 0));
    }
    this.maps.put("unit", "text", { x: this.x(this.whole / 2), y: high - 8, class: "tick middle" }, `along the block, ${inches ? "in" : "mm"}`);
    this.maps.end();
    this.titles.end();
  }

  /** Write at the left where a land begins, below, and where it ends, above. */
  nameEnds(land, number, x, top, tall) {
    const ends = land.name.split(": ").at(-1).split(" to ");
    if (ends.length !== 2) return;
    const short = (text) => (text.length <= 15 ? text : `${text.slice(0, 14)}…`);
    this.maps.put(`begin ${number}`, "text", { x, y: top + tall, class: "tick right" }, short(ends[0]));
    this.maps.put(`end ${number}`, "text", { x, y: top + 10, class: "tick right" }, short(ends[1]));
  }

  /** One path for each level, and one for what stands open. */
  drawCells(land, number, x0, step, y) {
    const paths = Array.from({ length: this.scale.count }, () => "");
    let open = "";
    land.z_mm.forEach((_, j) => {
      for (let i = 0; i + 1 < land.s_mm.length; i += 1) {
        const [bottom, upper] = [y(land.s_mm[i]), y(land.s_mm[i + 1])];
        const d = `M${(x0 + j * step).toFixed(1)} ${bottom.toFixed(1)}h${step.toFixed(1)}V${upper.toFixed(1)}h${(-step).toFixed(1)}Z`;
        if (land.gap_mm[j][i] > 0 || land.gap_mm[j][i + 1] > 0) open += d;
        else paths[this.scale.of((land.pressure_kpa[j][i] + land.pressure_kpa[j][i + 1]) / 2)] += d;
      }
    });
    paths.forEach((d, level) => {
      if (d) this.maps.put(`land ${number} level ${level}`, "path", { d, class: "cell", fill: this.scale.colours[level], stroke: this.scale.colours[level] });
    });
    if (open) this.maps.put(`land ${number} open`, "path", { d: open, fill: `url(#${HATCH})` });
  }

  drawStrands(strands, high) {
    const { inches } = this.store.settings;
    keyed(this.bands, strands, (strand) => `${strand.kind} ${strand.index}`, () => this.makeStrand(), (node, strand) => {
      node.strand = strand;
      const x = this.x(strand.at);
      set(node, { transform: `translate(${x} 0)`, "aria-label": `Band at ${place(strand.at, inches)}. Arrow keys move it. Delete takes it away.` });
      set(node.children[0], { x: -22, y: 4, width: 44, height: 44 });
      set(node.children[1], { d: `M0 40V${high - FOOT - BETWEEN + 6}` });
      set(node.children[2], { d: "M-9 14H9V38H-9Z" });
    });
  }

  makeStrand() {
    const node = svg("g", { class: "handle strand", tabindex: 0, role: "button" }, svg("rect", { class: "target" }), svg("path", { class: "strand-line" }), svg("path", { class: "grip" }));
    node.addEventListener("pointerdown", (event) => this.begin(event, node));
    node.addEventListener("keydown", (event) => this.step(event, node));
    return node;
  }

  begin(event, node) {
    if (event.button) return;
    event.preventDefault();
    node.focus({ preventScroll: true });
    node.setPointerCapture(event.pointerId);
    const { kind, index } = node.strand;
    const places = placesOf(this.store.mold.band[kind], this.whole);
    const tag = `drag band ${Date.now()}`;
    const box = this.picture.getBoundingClientRect();
    const move = (now) => {
      const at = this.at(((now.clientX - box.left) * this.picture.viewBox.baseVal.width) / box.width);
      this.put(kind, places.map((each, i) => (i === index ? this.within(at) : each)), tag);
    };
    node.addEventListener("pointermove", move);
    const end = () => node.removeEventListener("pointermove", move);
    node.addEventListener("pointerup", end, { once: true });
    node.addEventListener("pointercancel", end, { once: true });
  }

  within(at) {
    const grid = this.store.settings.inches ? MM_PER_INCH / 16 : 1;
    return round(Math.min(this.whole, Math.max(0, Math.round(at / grid) * grid)));
  }

  step(event, node) {
    const { kind, index, at } = node.strand;
    const places = placesOf(this.store.mold.band[kind], this.whole);
    const arrow = { ArrowLeft: -1, ArrowRight: 1, ArrowDown: -1, ArrowUp: 1 }[event.key];
    const grid = this.store.settings.inches ? MM_PER_INCH / 16 : 1;
    if (arrow) this.put(kind, places.map((each, i) => (i === index ? this.within(at + arrow * grid * (event.shiftKey ? 10 : 1)) : each)), `step band ${kind} ${index}`);
    else if (["Delete", "Backspace"].includes(event.key) && places.length > 1) this.put(kind, places.filter((_, i) => i !== index), `less ${Date.now()}`);
    else return;
    event.preventDefault();
  }

  /** Pressure or gap under the pointer, in words. */
  tell(event) {
    if (!this.places?.length) return;
    const box = this.picture.getBoundingClientRect();
    const scale = this.picture.viewBox.baseVal.width / box.width;
    const [px, py] = [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
    const found = this.places.find(({ top, tall }) => py >= top && py <= top + tall);
    const j = found && Math.floor((px - found.x0) / found.step);
    if (!found || !(j >= 0 && j < found.land.z_mm.length)) return;
    const s = found.land.length_mm * (1 - (py - found.top) / found.tall);
    const apart = found.land.s_mm.map((v) => Math.abs(v - s));
    const i = apart.indexOf(Math.min(...apart));
    const { inches } = this.store.settings;
    const gap = found.land.gap_mm[j][i];
    const state = gap > 0 ? `open by ${length(gap, inches)}` : `presses with ${pressure(found.land.pressure_kpa[j][i], inches)}`;
    say(this.read, `${place(found.land.z_mm[j], inches)} along the block, ${length(found.land.s_mm[i], inches)} along land ${this.places.indexOf(found) + 1}: ${state}`);
  }
}

const round = (value) => Number(value.toFixed(2));

/** Where the strands of a band lie: as given, else spread evenly. */
function placesOf(band, whole) {
  const count = band.count ?? 1;
  return band.at_mm ?? Array.from({ length: count }, (_, k) => round(((k + 0.5) * whole) / count));
}
