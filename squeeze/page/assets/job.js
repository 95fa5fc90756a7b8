// A deed of the server that takes longer than a moment: what it does, how far it is, and Stop.

import { post } from "./ask.js";
import { el, say, set } from "./dom.js";

/** A line that shows one slow deed at a time: words, progress, seconds, and a button to stop it. */
export class Job {
  constructor() {
    this.words = el("span", { class: "job-words", role: "status" });
    this.bar = el("progress", { hidden: true, "aria-label": "Progress" });
    this.clock = el("span", { class: "job-clock", "aria-hidden": "true" });
    this.stop = el("button", { type: "button", class: "small", hidden: true, onclick: () => this.end() }, "Stop");
    this.node = el("p", { class: "job" }, this.words, this.bar, this.clock, this.stop);
    this.giveUp = null;
  }

  get busy() {
    return Boolean(this.giveUp);
  }

  /** Stop what is under way; its answer is not waited for any more. */
  end() {
    this.giveUp?.abort();
  }

  /**
   * Ask the server for something slow. Returns the answer, or null when it was stopped or overtaken;
   * what went wrong is said in the line.
   */
  async ask(path, body) {
    this.end();
    const giveUp = new AbortController();
    this.giveUp = giveUp;
    this.show(true);
    const answer = await post(path, body, { signal: giveUp.signal, news: (news) => this.giveUp === giveUp && this.hear(news) });
    if (this.giveUp !== giveUp) return null;
    this.giveUp = null;
    this.show(false);
    if (giveUp.signal.aborted) {
      say(this.words, "Stopped.");
      return null;
    }
    say(this.words, answer.status === 200 ? "" : faultsOf(answer));
    return answer.status === 200 ? answer : null;
  }

  hear({ what, share }) {
    if (what) say(this.words, `${what[0].toUpperCase()}${what.slice(1)} …`);
    set(this.bar, { value: share ?? null, hidden: false });
  }

  show(on) {
    clearInterval(this.counting);
    this.stop.hidden = !on;
    this.bar.hidden = true;
    say(this.clock, "");
    if (!on) return;
    say(this.words, "Working …");
    set(this.bar, { value: null });
    const begun = performance.now();
    this.counting = setInterval(() => say(this.clock, `${Math.floor((performance.now() - begun) / 1000)} s`), 1000);
  }

  say(text) {
    say(this.words, text);
  }
}

/** What went wrong, in one text. */
export const faultsOf = (answer) => answer.faults?.map(({ words, text, say: whole }) => (words ? `${words}: ${text}` : whole)).join("; ") ?? answer.error ?? "There is no answer.";

/** Hand a text to the browser's downloads as a file. */
export function saveText(text, kind, name) {
  const link = el("a", { href: URL.createObjectURL(new Blob([text], { type: kind })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/** Hand a file in base64 to the browser's downloads. */
export function download(base64, kind, name) {
  const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
  const link = el("a", { href: URL.createObjectURL(new Blob([bytes], { type: kind })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
