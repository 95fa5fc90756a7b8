// The section to scale: rubber, cavities, lands by pressure, open places hatched, bands.

import { Layer, set, svg } from "./dom.js";
import { arrowPath, asArrow, backwards, blend, freePlace, labelPlace, line, loop, openRuns, ribbon, star } from "./paths.js";
import { levels } from "./tint.js";
import { MM_PER_INCH, keptPer, length, plain } from "./units.js";
import { outside } from "./vents.js";

const MARGIN = 0.2;
const RIBBON = 0.024;
const ARROW = 0.12;
const ARROW_OFF = 0.03;

/** An SVG that shows one closing. */
export class Section {
  constructor(node, name) {
    this.node = node;
    this.name = name;
    this.hatch = `hatch-${name}`;
    this.pattern = svg("pattern", { id: this.hatch, patternUnits: "userSpaceOnUse" });
    this.pattern.append(svg("rect", { class: "hatch-ground" }), svg("path", { class: "hatch-line" }));
    node.append(svg("defs", {}, this.pattern));
    const names = ["bands", "bodies", "former", "lands", "arrows", "sketch", "knife", "names", "marks"];
    for (const layer of names) this[layer] = new Layer(node, layer);
    this.handles = svg("g", { class: "handles" });
    node.append(this.handles);
    this.box = null;
  }

  /** Read how large it stands on the screen; before anything is drawn, for a browser lays all out for it. */
  measure() {
    const { width, height } = this.node.getBoundingClientRect();
    this.room = { width, height };
  }

  /** Millimetres to a pixel of the screen, as it was measured last. */
  get mmPerPixel() {
    if (!this.room) this.measure();
    const { width, height } = this.room;
    if (!this.box || !width || !height) return 0.3;
    return Math.max(this.box.width / width, this.box.height / height);
  }

  /** From pixels of the screen to mm, as the picture stands now. */
  get frame() {
    return this.node.getScreenCTM().inverse();
  }

  /** Where a pointer is, in mm of the section; a drag keeps the frame that it began with. */
  mmAt(event, frame = this.frame) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(frame);
    return [point.x, -point.y];
  }

  /** Fit the view to flat rings x0, y0, x1, y1, ... [mm]. */
  fit(rings, margin = MARGIN) {
    const x = rings.flatMap((ring) => ring.filter((_, i) => i % 2 === 0));
    const y = rings.flatMap((ring) => ring.filter((_, i) => i % 2 === 1));
    const [left, right, low, high] = [Math.min(...x), Math.max(...x), Math.min(...y), Math.max(...y)];
    const more = margin * Math.max(right - left, high - low);
    this.box = { x: left - more, y: -high - more, width: right - left + 2 * more, height: high - low + 2 * more };
    const { x: bx, y: by, width, height } = this.box;
    set(this.node, { viewBox: `${bx} ${by} ${width} ${height}` });
  }

  /**
   * Draw an answer.
   * @param {object} answer  what the server said
   * @param {object} how  {top: kPa of the scale, squeezed: 0..1, inches, bands, names, held: a hand is moving something}
   */
  draw(answer, how) {
    if (!how.held) this.measure();
    const { drawing } = answer;
    this.size = drawing.size_mm;
    this.scale = levels(how.top, 1 / keptPer("kPa", how.inches));
    this.solved = answer.solved;
    this.setHatch();
    this.drawBodies(drawing, how.squeezed);
    this.drawLands(answer, how);
    this.drawBands(drawing, how.bands !== false);
    this.drawNames(answer, how);
    this.drawMarks(answer, how);
  }

  setHatch() {
    const step = 7 * this.mmPerPixel;
    set(this.pattern, { width: step, height: step, patternTransform: "rotate(45)" });
    set(this.pattern.children[0], { width: step, height: step });
    set(this.pattern.children[1], { d: `M0 0V${step}`, "stroke-width": step * 0.42 });
  }

  drawBodies(drawing, squeezed) {
    this.bodies.begin();
    for (const body of drawing.bodies) {
      const d = body.rest.map((ring, i) => loop(blend(ring, body.moved[i], squeezed))).join("");
      this.bodies.put(`body ${body.body}`, "path", { d, class: body.body ? "cradle" : "rubber", "fill-rule": "evenodd" });
    }
    this.bodies.end();
    this.former.begin();
    if (squeezed) {
      [drawing.outline, ...drawing.holes].forEach((ring, i) => this.former.put(`former ${i}`, "path", { d: loop(ring), class: "former" }));
    }
    this.former.end();
  }

  drawLands(answer, how) {
    this.lands.begin();
    answer.seats.forEach((seat, i) => this.drawLand(`seat ${i}`, seat, answer.drawing.seats[i], how));
    answer.joints.forEach((joint, i) => this.drawLand(`joint ${i}`, joint, answer.drawing.joints[i], how));
    answer.lands.forEach((land, i) => this.drawLand(`land ${i}`, land, answer.drawing.lands[i], how));
    this.lands.end();
  }

  drawLand(key, land, faces, how) {
    const left = blend(faces.left, faces.moved_left, how.squeezed);
    const right = blend(faces.right, faces.moved_right, how.squeezed);
    if (!this.solved) {
      this.lands.put(key, "path", { d: line(left), class: "unsolved" });
      return;
    }
    const middle = blend(left, right, 0.5);
    const shapes = ribbon(middle, land.pressure_kpa, land.gap_mm, this.scale, RIBBON * this.size);
    shapes.forEach((d, level) => {
      if (d) this.lands.put(`${key} level ${level}`, "path", { d, class: "pressed", fill: this.scale.colours[level] });
    });
    openRuns(land.gap_mm).forEach(([a, b], i) => {
      const ring = [...left.slice(2 * a, 2 * b + 2), ...backwards(right.slice(2 * a, 2 * b + 2))];
      this.lands.put(`${key} open ${i}`, "path", { d: loop(ring), class: "open", fill: `url(#${this.hatch})` });
    });
  }

  drawBands(drawing, wanted) {
    this.bands.begin();
    this.arrows.begin();
    if (wanted && drawing.band) this.bands.put("band", "path", { d: loop(drawing.band), class: "band" });
    if (wanted) this.drawArrows([...drawing.arrows, ...drawing.pushes.map((push) => asArrow(push, drawing.outline))]);
    this.arrows.end();
    this.bands.end();
  }

  drawArrows(arrows) {
    const most = Math.max(...arrows.map((a) => Math.hypot(a.fx_n_per_mm, a.fy_n_per_mm)), 0);
    arrows.forEach((arrow, i) => {
      const force = Math.hypot(arrow.fx_n_per_mm, arrow.fy_n_per_mm);
      if (force < 0.02 * most) return;
      const long = (ARROW * this.size * force) / most;
      const turned = [arrow.fx_n_per_mm / force, arrow.fy_n_per_mm / force];
      const d = arrowPath([arrow.x_mm, arrow.y_mm], turned, long, ARROW_OFF * this.size);
      this.arrows.put(`arrow ${i}`, "path", { d, class: "arrow" });
    });
  }

  drawNames(answer, how) {
    this.names.begin();
    const pixel = this.mmPerPixel;
    const badges = answer.drawing.cavities.map((cavity) => [cavity.x_mm, cavity.y_mm]);
    badges.push(...(how.taken ?? []));
    const vents = how.vents ?? [];
    badges.push(...vents.map(({ x, y }) => [x, y]));
    if (how.names !== false) badges.push(...this.drawCavityNames(answer, pixel, vents));
    answer.drawing.lands.forEach((faces, i) => {
      const [x, y] = freePlace(faces.left, pixel, badges, this.box);
      badges.push([x, y]);
      const [mx, my] = labelPlace(faces.left, 0);
      const far = Math.hypot(x - mx, y - my) > 30 * pixel; // a number that had to move away is tied to its land
      if (far) this.names.put(`land ${i} tie`, "path", { d: `M${mx} ${-my}L${x} ${-y}`, class: "number-tie" });
      this.names.put(`land ${i} ring`, "circle", { cx: x, cy: -y, r: 10.5 * pixel, class: "number" });
      this.names.put(`land ${i}`, "text", { x, y: -y, "font-size": 13 * pixel, class: "name" }, String(i + 1));
    });
    this.names.end();
  }

  /** Write the cavities' names where there is room; returns places [x, y] that they cover. */
  drawCavityNames(answer, pixel, vents) {
    const font = 12.5 * pixel;
    const taken = [];
    const unnamed = (cavity) => (answer.verdict.say.includes(`'${cavity.name}'`) ? 0 : 1);
    for (const cavity of [...answer.drawing.cavities].sort((a, b) => unnamed(a) - unnamed(b))) {
      const hole = answer.drawing.holes[answer.drawing.cavities.indexOf(cavity)];
      const ys = hole.filter((_, k) => k % 2);
      const half = 0.29 * font * cavity.name.length;
      const crossed = vents.some((vent) => Math.abs(vent.x - cavity.x_mm) < half + 3 * pixel && vent.y > Math.min(...ys));
      const y = crossed ? Math.min(...ys) - 18 * pixel : Math.max(...ys) + 8 * pixel;
      if (taken.some((t) => Math.abs(t.x - cavity.x_mm) < t.half + half && Math.abs(t.y - y) < font)) continue;
      taken.push({ x: cavity.x_mm, y, half });
      this.names.put(`cavity ${cavity.name}`, "text", { x: cavity.x_mm, y: -y, "font-size": font, class: "name cavity-name" }, cavity.name);
    }
    return taken.flatMap(({ x, y, half }) => [-0.7, 0, 0.7].map((share) => [x + share * half, y + 0.3 * font]));
  }

  drawMarks(answer, how) {
    this.marks.begin();
    const pixel = this.mmPerPixel;
    const worst = answer.verdict.worst;
    if (worst.x_mm !== null) this.putStar(worst, pixel);
    if (answer.solved && answer.trust.largest_strain_pct > 0) this.putStrain(answer.trust, pixel);
    (how.pockets ?? []).forEach(({ at_mm: [x, y] }, i) => this.marks.put(`air ${i}`, "circle", { cx: x, cy: -y, r: 5.5 * pixel, class: "air-mark" }));
    (how.vents ?? []).forEach((vent, i) => this.putVent(vent, i, answer.drawing.outline, pixel));
    if (how.reading) this.putReading(how.reading, pixel);
    this.putScale(pixel, how.inches);
    this.marks.end();
  }

  /** A vent, dotted, with the number of the bench sheet above its end; a cross where it runs along the block. */
  putVent({ x, y, along, say }, i, outline, pixel) {
    const end = along ? y : outside(outline, x, y);
    const r = 5 * pixel;
    const d = along ? `M${x - r} ${-y - r}l${2 * r} ${2 * r}m0 ${-2 * r}l${-2 * r} ${2 * r}` : `M${x} ${-y}V${-end}`;
    this.marks.put(`vent ${i}`, "path", { d, class: "vent-mark" });
    this.marks.put(`vent ${i} number`, "text", { x, y: -end - (along ? 9 : 13) * pixel, "font-size": 13 * pixel, class: "name vent-name" }, say);
  }

  putStar(worst, pixel) {
    const d = star(worst.x_mm, -worst.y_mm, 9.5 * pixel);
    this.marks.put("star", "path", { d, class: "star" });
  }

  /** Where the rubber is strained most: an open triangle. */
  putStrain({ strain_at_mm: [x, y], largest_strain_pct: pct }, pixel) {
    const r = 7 * pixel;
    this.marks.put("strain", "path", { d: `M${x} ${-y - r}L${x + r} ${-y + r}H${x - r}Z`, class: "strain" });
    this.marks.put("strain text", "text", { x: x + 1.5 * r, y: -y + 4 * pixel, "font-size": 12 * pixel, class: "strain-text" }, `${plain(pct, 0)} %`);
  }

  putReading({ x, y }, pixel) {
    this.marks.put("reading", "circle", { cx: x, cy: -y, r: 8 * pixel, class: "reading" });
  }

  putScale(pixel, inches) {
    const unit = inches ? MM_PER_INCH : 1;
    const wanted = (60 * pixel) / unit;
    const power = 10 ** Math.floor(Math.log10(wanted));
    const bar = [5, 2, 1].find((m) => m * power <= wanted) * power;
    const [x, y] = [this.box.x + 12 * pixel, this.box.y + this.box.height - 4 * pixel]; // below the arrows
    const d = `M${x} ${y - 5 * pixel}V${y}H${x + bar * unit}V${y - 5 * pixel}`;
    this.marks.put("scale", "path", { d, class: "scale" });
    const text = `${plain(bar)} ${inches ? "in" : "mm"}`;
    this.marks.put("scale text", "text", { x: x + bar * unit + 5 * pixel, y, "font-size": 12 * pixel, class: "scale-text" }, text);
  }

  /** Thin dashed lines of the mold as it is being changed, before its answer is there. */
  drawSketch(outlines, paths) {
    this.sketch.begin();
    outlines.forEach((points, i) => this.sketch.put(`outline ${i}`, "path", { d: loop(points.flat()), class: "sketch" }));
    paths.forEach((points, i) => this.sketch.put(`path ${i}`, "path", { d: line(points.flat()), class: "sketch" }));
    this.sketch.end();
  }

  /** What a person who cannot see the picture should know of it. */
  describe(answer, inches) {
    if (!answer.solved) return "There is no answer; the block is drawn unloaded.";
    const parts = answer.lands.map((land, i) => {
      const closed = Math.round(100 * land.closed_share);
      return `Land ${i + 1}, ${land.name}: ${closed} % closed, widest gap ${length(land.largest_gap_mm, inches)}.`;
    });
    return parts.join(" ");
  }
}
