// Trace a photograph of the block's end: scale, outline, cavities, cuts.

import { el, keyed, say, set, svg } from "./dom.js";
import { notice } from "./notice.js";
import { keepPhoto, keptPhoto, photoOf } from "./photo.js";
import { EMPTY, circleOf, done, extent, missing, moldOf, scaleOf } from "./tracing.js";
import { heard, length, shown } from "./units.js";

const TOOLS = [
  ["scale", "Scale", "Click two places whose distance you know, the ends of a ruler for instance, and type it in."],
  ["outline", "Outline", "Click the corners of the block one after the other, round it once."],
  ["round outline", "Round outline", "Click two places opposite each other on the edge of a round block."],
  ["round cavity", "Round cavity", "Click two places opposite each other on its edge. Two more begin the next."],
  ["cavity", "Other cavity", "Click round its edge. 'Next' begins another."],
  ["cut", "Cut", "Click along the cut, from the outside inwards. 'Next' begins another."],
];
const TARGET = 22;

export class Trace {
  constructor(node, store) {
    this.node = node;
    this.store = store;
    this.tool = "scale";
    this.zoom = 1;
    this.cross = null;
    this.past = [];
    this.build();
    this.bringPhoto();
    addEventListener("paste", (event) => this.shown && this.take([...(event.clipboardData?.files ?? [])]));
    addEventListener("drop", (event) => this.shown && this.take([...(event.dataTransfer?.files ?? [])]));
  }

  get trace() {
    return this.store.extra.trace ?? { ...EMPTY, id: null };
  }

  build() {
    this.input = el("input", { type: "file", accept: "image/*", id: "photo", class: "unseen" });
    this.input.addEventListener("change", () => this.take([...this.input.files]));
    const pick = el("label", { for: "photo", class: "pick" }, "Choose a photograph");
    const tools = TOOLS.map(([key, name]) => el("label", { class: "toggle" }, el("input", { type: "radio", name: "tool", value: key, checked: key === this.tool, onchange: () => this.choose(key) }), el("span", {}, name)));
    this.hint = el("p", { class: "hint-line", role: "status" });
    this.long = el("input", { id: "trace-length", class: "figure", type: "text", inputmode: "decimal", autocomplete: "off" });
    this.long.addEventListener("input", () => this.setLength());
    this.unit = el("span", { class: "unit" });
    this.picture = svg("svg", { class: "photo", role: "application", tabindex: 0, "aria-label": "Photograph. Arrow keys move the cross, with Shift further; Enter sets a point there; Backspace takes the last one back." });
    this.image = svg("image", {});
    this.lines = svg("g", {});
    this.dots = svg("g", {});
    this.crossMark = svg("path", { class: "cross" });
    this.picture.append(this.image, this.lines, this.crossMark, this.dots);
    this.picture.addEventListener("click", (event) => this.clicked(event));
    this.picture.addEventListener("keydown", (event) => this.pressed(event));
    this.frame = el("div", { class: "photo-frame" }, this.picture);
    this.needs = el("ul", { class: "needs" });
    this.use = el("button", { type: "button", class: "main", onclick: () => this.finish() }, "Make the mold");
    const zoom = (share, text, spoken) => el("button", { type: "button", "aria-label": spoken, onclick: () => this.zoomBy(share) }, text);
    this.node.append(
      el("h2", {}, "Trace a photograph of the block's end"),
      el("p", { class: "lead" }, "Photograph the end of the block square on, with a ruler beside it. The picture stays on this machine."),
      el("div", { class: "row" }, this.input, pick, zoom(1.4, "+", "Larger"), zoom(1 / 1.4, "−", "Smaller"), el("button", { type: "button", onclick: () => this.undo() }, "Take back"), el("button", { type: "button", id: "trace-next", onclick: () => this.next() }, "Next"), el("button", { type: "button", onclick: () => this.clear() }, "Clear all")),
      el("div", { class: "trace-stage" },
        el("div", { class: "trace-side" }, el("fieldset", { class: "tools-list" }, el("legend", {}, "What you click"), tools), this.hint,
          el("div", { class: "field number" }, el("label", { for: "trace-length" }, "Length between the two points"), el("div", { class: "entry" }, this.long, this.unit)),
          this.needs, this.use),
        this.frame),
    );
  }

  async bringPhoto() {
    const { id } = this.trace;
    this.asked = id;
    this.photo = null;
    if (id) this.photo = await keptPhoto(id).catch(() => null);
    this.showPhoto();
    this.draw();
  }

  showPhoto() {
    if (this.address) URL.revokeObjectURL(this.address);
    this.address = this.photo ? URL.createObjectURL(this.photo.blob) : null;
    const { width = 800, height = 600 } = this.photo ?? {};
    set(this.image, { href: this.address, width, height });
    set(this.picture, { viewBox: `0 0 ${width} ${height}` });
    this.cross = [width / 2, height / 2];
  }

  async take(files) {
    const file = files.find((each) => each.type.startsWith("image/"));
    this.input.value = "";
    if (!file) return;
    try {
      this.photo = await photoOf(file);
    } catch {
      notice(`The browser cannot show ${file.name} as a picture.`);
      return;
    }
    const id = crypto.randomUUID();
    await keepPhoto(id, this.photo).catch(() => notice("The browser cannot keep the photograph. Finish before you close the tab."));
    this.asked = id;
    this.showPhoto();
    this.change({ ...EMPTY, id, name: file.name });
    this.choose("scale");
  }

  choose(tool) {
    this.tool = tool;
    const radio = this.node.querySelector(`[value="${tool}"]`);
    if (radio) radio.checked = true;
    this.draw();
  }

  /** Change the tracing; changes with the same tag are one step to take back. */
  change(trace, tag = null) {
    if (tag === null || tag !== this.tag) this.past = [...this.past, this.trace].slice(-200);
    this.tag = tag;
    this.store.set("trace", trace);
  }

  /** Take back the last thing done; false when there is none. */
  undo() {
    const before = this.past.at(-1);
    if (!before || before.id !== this.trace.id) return false;
    this.past = this.past.slice(0, -1);
    this.tag = null;
    this.store.set("trace", before);
    return true;
  }

  clear() {
    this.change({ ...EMPTY, id: this.trace.id, name: this.trace.name });
  }

  setLength() {
    const { value } = heard(this.long.value, "mm", this.store.settings.inches);
    const { trace } = this;
    this.change({ ...trace, scale: { ...trace.scale, length_mm: value ?? 0 } }, "length");
  }

  clicked(event) {
    if (!this.photo || event.target.closest(".dot")) return;
    this.add(this.pixelAt(event));
  }

  pixelAt(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.picture.getScreenCTM().inverse());
    return [point.x, point.y].map((v) => Math.round(v * 10) / 10);
  }

  add(point) {
    const { trace, tool } = this;
    const two = (points) => (points.length >= 2 ? [point] : [...points, point]);
    if (tool === "scale") this.change({ ...trace, scale: { ...trace.scale, points: two(trace.scale.points) } });
    if (tool === "outline") this.change({ ...trace, outline: { kind: "drawn", points: [...(trace.outline.kind === "drawn" ? trace.outline.points : []), point] } });
    if (tool === "round outline") this.change({ ...trace, outline: { kind: "round", points: two(trace.outline.kind === "round" ? trace.outline.points : []) } });
    if (tool === "round cavity") this.change({ ...trace, cavities: added(trace.cavities, "round", point, (shape) => shape.points.length < 2) });
    if (tool === "cavity") this.change({ ...trace, cavities: added(trace.cavities, "drawn", point, (shape) => !shape.closed) });
    if (tool === "cut") this.change({ ...trace, cuts: added(trace.cuts, "cut", point, (shape) => !shape.closed) });
  }

  /** The cavity or cut that is being drawn is done; the next click begins another. */
  next() {
    const { trace } = this;
    const closed = (list) => list.map((shape) => ({ ...shape, closed: true }));
    if (this.tool === "cut") this.change({ ...trace, cuts: closed(trace.cuts) });
    else if (this.tool === "cavity") this.change({ ...trace, cavities: closed(trace.cavities) });
    else this.choose(TOOLS[Math.min(TOOLS.findIndex(([key]) => key === this.tool) + 1, TOOLS.length - 1)][0]);
  }

  pressed(event) {
    const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (event.target !== this.picture || !this.photo) return;
    if (arrow) this.cross = this.cross.map((v, k) => v + arrow[k] * (event.shiftKey ? 25 : event.altKey ? 1 : 5));
    else if (event.key === "Enter" || event.key === " ") this.add([...this.cross]);
    else if (event.key === "Backspace") this.undo();
    else return;
    event.preventDefault();
    this.draw();
  }

  refresh(why) {
    if (this.trace.id !== this.asked) this.bringPhoto();
    else if (this.shown || why === "view") this.draw();
  }

  zoomBy(share) {
    this.zoom = Math.min(6, Math.max(1, this.zoom * share));
    this.draw();
  }

  draw() {
    if (!this.shown) return;
    const { inches } = this.store.settings;
    set(this.frame, { "data-empty": this.photo ? null : true });
    this.picture.style.width = `${100 * this.zoom}%`;
    say(this.hint, TOOLS.find(([key]) => key === this.tool)[2]);
    say(this.unit, inches ? "in" : "mm");
    const text = shown(this.trace.scale.length_mm, "mm", inches);
    if (document.activeElement !== this.long && this.long.value !== text) this.long.value = text;
    this.drawLines();
    this.drawDots();
    this.drawNeeds(inches);
  }

  get pixel() {
    const { width } = this.picture.getBoundingClientRect();
    return width ? (this.photo?.width ?? 800) / width : 1;
  }

  drawLines() {
    const { trace } = this;
    const shapes = [
      { key: "scale", d: open(trace.scale.points), of: "scale" },
      { key: "outline", d: closed(trace.outline), of: "outline" },
      ...trace.cavities.map((shape, i) => ({ key: `cavity ${i}`, d: closed(shape), of: "cavity" })),
      ...trace.cuts.map((shape, i) => ({ key: `cut ${i}`, d: open(shape.points), of: "cut" })),
    ];
    keyed(this.lines, shapes, (shape) => shape.key, () => svg("g", {}, svg("path", { class: "halo" }), svg("path")), (node, shape) => {
      for (const path of node.children) set(path, { d: shape.d });
      set(node.lastElementChild, { class: `traced ${shape.of}` });
    });
    const r = 12 * this.pixel;
    const [x, y] = this.cross ?? [0, 0];
    set(this.crossMark, { d: `M${x - r} ${y}h${2 * r}M${x} ${y - r}v${2 * r}` });
  }

  drawDots() {
    const pixel = this.pixel;
    keyed(this.dots, dotsOf(this.trace), (dot) => dot.path.join(" "), () => this.makeDot(), (node, dot) => {
      node.dot = dot;
      set(node, { transform: `translate(${dot.at[0]} ${dot.at[1]})`, "aria-label": `${dot.name}. Arrow keys move it.` });
      set(node.children[0], { r: TARGET * pixel });
      set(node.children[1], { r: 5.5 * pixel });
    });
  }

  makeDot() {
    const node = svg("g", { class: "dot", tabindex: 0, role: "button" }, svg("circle", { class: "target" }), svg("circle", { class: "grip" }));
    node.addEventListener("pointerdown", (event) => this.drag(event, node));
    node.addEventListener("keydown", (event) => {
      const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!arrow) return;
      event.preventDefault();
      this.move(node.dot, node.dot.at.map((v, k) => v + arrow[k] * (event.shiftKey ? 10 : 1)));
    });
    return node;
  }

  drag(event, node) {
    event.preventDefault();
    node.setPointerCapture(event.pointerId);
    const tag = `drag ${Date.now()}`;
    const moved = (next) => this.move(node.dot, this.pixelAt(next), tag);
    node.addEventListener("pointermove", moved);
    node.addEventListener("lostpointercapture", () => node.removeEventListener("pointermove", moved), { once: true });
  }

  move(dot, point, tag = null) {
    const copy = structuredClone(this.trace);
    let points = copy;
    for (const step of dot.path.slice(0, -1)) points = points[step];
    points[dot.path.at(-1)] = point;
    this.change(copy, tag);
  }

  drawNeeds(inches) {
    const { trace } = this;
    const needs = this.photo ? missing(trace) : ["Choose a photograph, or drop one here."];
    const mm = scaleOf(trace);
    const sizes = [];
    if (mm && done(trace.outline)) {
      const { low, high } = extent(trace.outline);
      sizes.push(`The block is ${length((high[0] - low[0]) * mm, inches)} wide and ${length((high[1] - low[1]) * mm, inches)} high.`);
    }
    if (mm) trace.cavities.filter((shape) => shape.kind === "round" && done(shape)).forEach((shape, i) => sizes.push(`Cavity ${i + 1}: ${length(2 * circleOf(shape.points).radius * mm, inches)} across.`));
    keyed(this.needs, [...sizes, ...needs], (text, i) => String(i), () => el("li"), (node, text) => say(node, text));
    this.use.disabled = needs.length > 0;
  }

  finish() {
    const name = this.trace.name ? `Traced from ${this.trace.name}` : "Traced mold";
    this.store.begin(moldOf(this.trace, this.store.mold, name.slice(0, 120)), { trace: this.trace });
    location.hash = "bench";
  }
}

function added(list, kind, point, takes) {
  const last = list.at(-1);
  if (last && last.kind === kind && takes(last)) return [...list.slice(0, -1), { ...last, points: [...last.points, point] }];
  return [...list, { kind, points: [point] }];
}

const open = (points) => points.map(([x, y], i) => `${i ? "L" : "M"}${x} ${y}`).join("");

function closed(shape) {
  if (shape.kind !== "round") return shape.points.length ? `${open(shape.points)}Z` : "";
  if (!done(shape)) return "";
  const { middle, radius: r } = circleOf(shape.points);
  return `M${middle[0] - r} ${middle[1]}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`;
}

function dotsOf(trace) {
  const dots = (path, points, name) => points.map((at, i) => ({ path: [...path, i], at, name: `${name}, point ${i + 1}` }));
  return [
    ...dots(["scale", "points"], trace.scale.points, "Scale"),
    ...dots(["outline", "points"], trace.outline.points, "Outline"),
    ...trace.cavities.flatMap((shape, i) => dots(["cavities", i, "points"], shape.points, `Cavity ${i + 1}`)),
    ...trace.cuts.flatMap((shape, i) => dots(["cuts", i, "points"], shape.points, `Cut ${i + 1}`)),
  ];
}
