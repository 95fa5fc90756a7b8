// How sure the verdict is: the block closed again with other rubber, friction and bands.

import { post } from "./ask.js";
import { $, el, say } from "./dom.js";

const RUBBER = [[0.75, "25 % softer"], [1, "as given"], [1.25, "25 % stiffer"]];
const PULL = [[0.8, "20 % slacker"], [1.2, "20 % tighter"]];
const FRICTION = ["low", "high"];

/** Asks how sure a verdict is, which takes a dozen closings more, and shows what comes of each. */
export class Sureness {
  /** @param {(answer, wanted) => void} deliver */
  constructor(deliver) {
    this.deliver = deliver;
    this.giveUp = null;
  }

  async ask(wanted) {
    this.giveUp?.abort();
    const giveUp = new AbortController();
    this.giveUp = giveUp;
    this.say("How sure that is: closing the variations …");
    const news = ({ what }) => giveUp === this.giveUp && what.startsWith("variation") && this.say(`How sure that is: ${what} …`);
    const answer = await post("/sure", { mold: wanted.mold, inches: wanted.inches }, { signal: giveUp.signal, news });
    if (giveUp !== this.giveUp) return;
    this.giveUp = null;
    this.say(answer.status === 200 ? "" : "The variations did not close, so the page cannot say how sure this is.");
    if (answer.status === 200) this.deliver(answer, wanted);
  }

  /** What is said of an earlier mold is not worked out any further. */
  forget() {
    this.giveUp?.abort();
    this.giveUp = null;
    this.say("");
  }

  say(text) {
    say($("#sure-note"), text);
  }

  /** Draw the variations of an answer; `found` is {lines, variations}, or nothing yet. */
  draw(found) {
    const node = $("#variations");
    node.hidden = !found?.variations.length;
    if (node.hidden || this.drawn === found) return;
    this.drawn = found;
    const of = (stiffness, friction, pull) => found.variations.find((each) => each.stiffness === stiffness && each.friction === friction && each.pull === pull);
    const head = el("thead", {}, el("tr", {}, ["Bands", "Friction", ...RUBBER.map(([, words]) => `Rubber ${words}`)].map((text) => el("th", { scope: "col" }, text))));
    const rows = PULL.flatMap(([pull, words]) => FRICTION.map((friction) => el("tr", {}, el("th", { scope: "row" }, words), el("td", {}, friction), RUBBER.map(([stiffness]) => el("td", {}, cell(of(stiffness, friction, pull)))))));
    const table = el("table", {}, el("caption", {}, "What comes of each"), head, el("tbody", {}, rows));
    $("#variations-inside").replaceChildren(...found.lines.map((text) => el("p", {}, text)), el("div", { class: "table-scroll", tabindex: 0, role: "group", "aria-label": "Variations" }, table));
  }
}

function cell(variation) {
  if (!variation) return "";
  return variation.solved ? variation.grade : "no answer";
}
