// Pressure and gap along each land, under the section.

import { Layer, el, set, svg } from "./dom.js";
import { openRuns, partsBetween } from "./paths.js";
import { levels } from "./tint.js";
import { MM_PER_INCH, keptPer, plain, unitName } from "./units.js";

const LEAST_WIDE = 128;
const LEFT = 62;
const BETWEEN = 14;
const PRESSURE = 112;
const GAP = 46;
const HEAD = 26;
const FOOT = 30;

/** A plot of the lands of one answer. */
export class Plot {
  constructor(node, name) {
    this.node = node;
    this.hatch = `plot-hatch-${name}`;
    const pattern = svg("pattern", { id: this.hatch, patternUnits: "userSpaceOnUse", width: 7, height: 7, patternTransform: "rotate(45)" });
    pattern.append(svg("path", { class: "hatch-line", d: "M0 0V7", "stroke-width": 3 }));
    node.append(svg("defs", {}, pattern));
    this.layer = new Layer(node, "plot");
  }

  /** Read how wide it may be drawn; before anything is drawn, for a browser lays all out for it. */
  measure() {
    this.wide = Math.max(this.node.clientWidth, 220);
  }

  draw(answer, { top, inches, reading, held }) {
    if (!held || !this.wide) this.measure();
    this.answer = answer;
    this.inches = inches;
    this.scale = levels(top, 1 / keptPer("kPa", inches));
    this.most = this.scale.step * this.scale.count;
    this.gapMost = Math.max(...answer.lands.map((land) => land.largest_gap_mm), 0);
    const { wide } = this;
    const rows = this.rows(wide);
    const high = rows.length * (HEAD + PRESSURE + GAP + FOOT);
    set(this.node, { viewBox: `0 0 ${wide} ${Math.max(high, 1)}`, height: high });
    this.layer.begin();
    this.places = [];
    rows.forEach((row, i) => this.drawRow(row, i, wide));
    if (reading) this.drawReading(reading);
    this.layer.end();
  }

  rows(wide) {
    const lands = this.answer.lands.map((land, number) => ({ land, number }));
    const each = Math.max(1, Math.floor((wide - LEFT) / LEAST_WIDE));
    const count = Math.ceil(lands.length / each);
    const even = Math.ceil(lands.length / Math.max(count, 1));
    return Array.from({ length: count }, (_, r) => lands.slice(r * even, (r + 1) * even));
  }

  drawRow(row, number, wide) {
    const mean = row.reduce((sum, { land }) => sum + land.length_mm, 0) / row.length;
    const share = row.map(({ land }) => Math.max(land.length_mm, 0.75 * mean));
    const whole = share.reduce((a, b) => a + b, 0);
    const room = wide - LEFT - 8 - BETWEEN * (row.length - 1);
    let left = LEFT;
    const top = number * (HEAD + PRESSURE + GAP + FOOT) + HEAD;
    row.forEach((entry, i) => {
      const width = (room * share[i]) / whole;
      this.drawPanel(entry, { left, top, width, first: i === 0 });
      left += width + BETWEEN;
    });
  }

  drawPanel({ land, number }, box) {
    const key = `land ${number}`;
    const x = (s) => box.left + (box.width * s) / land.length_mm;
    const y = (p) => box.top + PRESSURE * (1 - p / this.most);
    const floor = box.top + PRESSURE;
    this.places[number] = { x, y, top: box.top, floor };
    this.drawTitle(key, land, number, box);
    this.drawFilled(key, land, x, y, floor);
    const curve = land.s_mm.map((s, i) => `${i ? "L" : "M"}${x(s).toFixed(1)} ${y(land.pressure_kpa[i] ?? 0).toFixed(1)}`).join("");
    this.layer.put(`${key} curve`, "path", { d: curve, class: "curve" });
    this.drawNeeded(key, box, y);
    this.drawOpen(key, land, x, box);
    this.drawGap(key, land, x, box);
    this.drawStar(key, land, x, y);
    if (box.first) this.drawScale(key, box, y);
  }

  drawTitle(key, land, number, box) {
    const [cx, cy] = [box.left + 10, box.top - 14];
    this.layer.put(`${key} ring`, "circle", { cx, cy, r: 9, class: "number" });
    this.layer.put(`${key} number`, "text", { x: cx, y: cy, class: "name", "font-size": 12 }, String(number + 1));
    const room = Math.floor((box.width - 26) / 6.1);
    const title = land.name.length <= room ? land.name : `${land.name.slice(0, Math.max(room - 1, 1))}…`;
    if (room > 6) this.layer.put(`${key} title`, "text", { x: cx + 15, y: cy + 4, class: "title" }, title);
  }

  drawFilled(key, land, x, y, floor) {
    const paths = Array.from({ length: this.scale.count }, () => "");
    for (let i = 0; i + 1 < land.s_mm.length; i += 1) {
      const parts = partsBetween(land.pressure_kpa[i], land.pressure_kpa[i + 1], this.scale);
      for (let k = 0; k < parts; k += 1) {
        const [a, b] = [k / parts, (k + 1) / parts];
        const p = (t) => land.pressure_kpa[i] + t * (land.pressure_kpa[i + 1] - land.pressure_kpa[i]);
        const s = (t) => land.s_mm[i] + t * (land.s_mm[i + 1] - land.s_mm[i]);
        if (!(p(a) + p(b) > 0)) continue;
        paths[this.scale.of(p((a + b) / 2))] += `M${x(s(a)).toFixed(1)} ${floor}V${y(p(a)).toFixed(1)}L${x(s(b)).toFixed(1)} ${y(p(b)).toFixed(1)}V${floor}Z`;
      }
    }
    paths.forEach((d, level) => {
      if (d) this.layer.put(`${key} level ${level}`, "path", { d, class: "level", fill: this.scale.colours[level], stroke: this.scale.colours[level] });
    });
    this.layer.put(`${key} floor`, "path", { d: `M${x(0)} ${floor}H${x(land.length_mm)}`, class: "axis" });
  }

  drawNeeded(key, box, y) {
    const needed = y(this.answer.verdict.needed_kpa);
    if (needed > box.top) this.layer.put(`${key} needed`, "path", { d: `M${box.left} ${needed}H${box.left + box.width}`, class: "needed" });
  }

  drawOpen(key, land, x, box) {
    openRuns(land.gap_mm).forEach(([a, b], i) => {
      const [left, right] = [x(land.s_mm[a]), x(land.s_mm[b])];
      this.layer.put(`${key} open ${i}`, "rect", { x: left, y: box.top, width: right - left, height: PRESSURE, fill: `url(#${this.hatch})`, class: "open-stretch" });
    });
  }

  drawGap(key, land, x, box) {
    const floor = box.top + PRESSURE + GAP;
    const y = (gap) => floor - (this.gapMost > 0 ? ((GAP - 14) * gap) / this.gapMost : 0);
    const d = land.s_mm.map((s, i) => `${i ? "L" : "M"}${x(s).toFixed(1)} ${y(land.gap_mm[i]).toFixed(1)}`).join("");
    this.layer.put(`${key} gap`, "path", { d, class: "curve gap" });
    this.layer.put(`${key} gap floor`, "path", { d: `M${x(0)} ${floor}H${x(land.length_mm)}`, class: "axis" });
    const unit = this.inches ? MM_PER_INCH : 1;
    const name = `${plain(land.length_mm / unit, this.inches ? 2 : 0)} ${this.inches ? "in" : "mm"}`;
    this.layer.put(`${key} long`, "text", { x: x(land.length_mm), y: floor + 14, class: "tick end" }, name);
    this.layer.put(`${key} zero`, "text", { x: x(0), y: floor + 14, class: "tick start" }, "0");
  }

  drawStar(key, land, x, y) {
    const { worst } = this.answer.verdict;
    if (worst.x_mm === null || worst.cut !== land.cut || worst.land !== land.land) return;
    const i = land.x_mm.findIndex((v, k) => Math.hypot(v - worst.x_mm, land.y_mm[k] - worst.y_mm) < 1e-6);
    if (i >= 0) this.layer.put("star", "text", { x: Math.min(x(land.length_mm) - 8, Math.max(x(0) + 8, x(land.s_mm[i]))), y: Math.min(y(land.pressure_kpa[i]) + 6, y(0) - 1), class: "star-text" }, "★");
  }

  drawScale(key, box, y) {
    const every = this.scale.count > 5 ? 2 : 1;
    for (let k = 0; k <= this.scale.count; k += every) {
      const value = k * this.scale.step;
      this.layer.put(`${key} tick ${k}`, "text", { x: box.left - 7, y: y(value) + 4, class: "tick right" }, plain(value / keptPer("kPa", this.inches), 3));
      this.layer.put(`${key} tick line ${k}`, "path", { d: `M${box.left - 4} ${y(value)}h4`, class: "axis" });
    }
    this.layer.put(`${key} unit`, "text", { x: box.left - 7, y: box.top - 10, class: "tick right unit" }, unitName("kPa", this.inches));
    const unit = this.inches ? MM_PER_INCH : 1;
    const most = this.gapMost / unit;
    const widest = most > 0 ? most.toFixed(this.inches ? 3 : 2) : "0";
    this.layer.put(`${key} gap most`, "text", { x: box.left - 7, y: box.top + PRESSURE + 18, class: "tick right" }, widest);
    this.layer.put(`${key} gap unit`, "text", { x: box.left - 7, y: box.top + PRESSURE + 32, class: "tick right unit" }, `gap ${this.inches ? "in" : "mm"}`);
  }

  drawReading({ land, index }) {
    const place = this.places[land];
    if (!place) return;
    const x = place.x(this.answer.lands[land].s_mm[index]);
    this.layer.put("reading", "path", { d: `M${x} ${place.top}V${place.floor + GAP}`, class: "reading-line" });
  }

  /** The land and place under a pointer, or null. */
  under(event) {
    const box = this.node.getBoundingClientRect();
    const [px, py] = [event.clientX - box.left, event.clientY - box.top];
    for (const [number, place] of (this.places ?? []).entries()) {
      const land = this.answer.lands[number];
      const inside = px >= place.x(0) - 4 && px <= place.x(land.length_mm) + 4 && py > place.top - HEAD && py < place.floor + GAP + FOOT;
      if (!inside) continue;
      const apart = land.s_mm.map((s) => Math.abs(place.x(s) - px));
      return { land: number, index: apart.indexOf(Math.min(...apart)) };
    }
    return null;
  }
}

/** The key to the colours, as HTML. */
export function legend(node, top, inches, marks = ["★ worst place", "△ strained most"]) {
  const [scale, unit] = [levels(top, 1 / keptPer("kPa", inches)), unitName("kPa", inches)];
  const shows = `${unit} ${scale.step} ${scale.colours.join()} ${marks.join()}`;
  if (node.shows === shows) return;
  node.shows = shows;
  const boxes = scale.colours.map((colour, k) => {
    const swatch = svg("svg", { viewBox: "0 0 30 14", class: "swatch", "aria-hidden": "true" });
    const half = 7 * (0.4 + (0.6 * k) / (scale.count - 1));
    swatch.append(svg("rect", { x: 1, y: 7.5 - half, width: 28, height: 2 * half - 1, fill: colour }));
    return el("li", {}, swatch, plain((k * scale.step) / keptPer("kPa", inches), 3));
  });
  node.replaceChildren(el("li", { class: "legend-name" }, `pressure from, ${unit}`), ...boxes, el("li", {}, el("span", { class: "swatch hatched", "aria-hidden": "true" }), "open"), ...marks.map((text) => el("li", {}, text)));
}
