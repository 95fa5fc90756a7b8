// Talking to the server: one answer under way, the latest wins, first on a coarse mesh.

const PAGE = crypto.randomUUID();
const SETTLED_MS = 260;
const PATIENCE_MS = 1200; // with what has been overtaken
const QUICK_PATIENCE_MS = 4000; // longer with a coarse answer: on a slow machine it is all there is to see
const MORE_PATIENCE = 2; // each time that one was given up, until one comes: else a hand that goes on moving never sees any
const OVERTAKEN = 409;
const SILENCE = "The page's server does not answer. Is 'squeeze page' still running in its terminal? The page goes on by itself once the server is back.";

/** The status of an answer that did not come, for the server is not there. */
export const DEAF = 0;

const STOPPED = { status: -1, error: "Stopped. Change something, and the cuts are closed again." };

/** The key in the page's own address; every call brings it along. */
const KEY = new URLSearchParams(location.search).get("key") ?? "";

/**
 * Send JSON and return {status, ...what came back}.
 * @param {string} path
 * @param {object} body
 * @param {object} how  {method, signal, news}: `news({what, share})` hears how a slow answer comes along
 */
export async function post(path, body, { method = "POST", signal = undefined, news = undefined } = {}) {
  try {
    const headers = { "Content-Type": "application/json", "X-Squeeze-Key": KEY };
    if (news) headers.Accept = "application/x-ndjson";
    const response = await fetch(path, { method, signal, headers, body: JSON.stringify({ page: PAGE, ...body }) });
    if (response.headers.get("Content-Type")?.startsWith("application/x-ndjson")) return await lastLine(response, news);
    return { ...(await response.json()), status: response.status };
  } catch (error) {
    return error.name === "AbortError" ? { status: OVERTAKEN } : { status: DEAF, error: SILENCE };
  }
}

/** Read an answer that comes line by line, to its end: news, and the answer last. */
async function lastLine(response, news) {
  const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
  let text = "";
  let answer = null;
  for (let part = await reader.read(); !part.done; part = await reader.read()) {
    const lines = (text + part.value).split("\n");
    text = lines.pop();
    for (const line of lines) {
      const said = JSON.parse(line);
      if ("status" in said) answer = said;
      else news(said);
    }
  }
  if (answer) return answer;
  throw new Error("The answer ended before it was whole.");
}

/** Fetch JSON and return {status, ...what came back}. */
export async function get(path) {
  try {
    const response = await fetch(path, { headers: { "X-Squeeze-Key": KEY } });
    return { ...(await response.json()), status: response.status };
  } catch {
    return { status: DEAF, error: SILENCE };
  }
}

/** Asks how a mold closes, again and again while it is being changed. */
export class Asker {
  /**
   * @param {string} name  one line of answers each
   * @param {(answer, wanted) => void} deliver
   * @param {(busy: boolean) => void} busy
   * @param {(news: object) => void} news  hears {what, share} of an answer that takes its time
   * @param {string} path  what is asked
   * @param {boolean} first  whether a fine answer at small deformation comes before the whole one
   */
  constructor(name, deliver, busy = () => {}, news = () => {}, path = "/close", first = false) {
    this.page = `${PAGE.slice(0, 40)}-${name}`;
    this.deliver = deliver;
    this.busy = busy;
    this.news = news;
    this.path = path;
    this.first = first;
    this.next = null;
    this.running = false;
    this.timer = 0;
    this.quickPatience = QUICK_PATIENCE_MS;
  }

  /**
   * Ask for `wanted` ({mold, inches, against}). What was asked before and not begun is dropped;
   * what is under way is waited for, unless it takes long: then it is given up. A fine answer that
   * a coarse one overtakes is given up at once.
   */
  want(wanted, quick = true) {
    clearTimeout(this.timer);
    this.next = { wanted, quick, first: this.first && !quick };
    if (!this.running) this.run();
    else if (quick && !this.quick) this.giveUp.abort();
    else this.giveUpLater();
  }

  /** Give up what is under way when it has taken too long, where something else is waiting then. */
  giveUpLater() {
    const { giveUp } = this;
    const { quick } = this;
    const left = this.since + (quick ? this.quickPatience : PATIENCE_MS) - performance.now();
    clearTimeout(this.patience);
    this.patience = setTimeout(() => {
      if (!this.next) return;
      if (quick) this.quickPatience *= MORE_PATIENCE;
      giveUp.abort();
    }, left);
  }

  /** End what is under way, and ask for nothing more until something changes. */
  stop() {
    clearTimeout(this.timer);
    this.next = null;
    this.stopped = true;
    this.giveUp?.abort();
  }

  async run() {
    this.running = true;
    this.busy(true);
    while (this.next) {
      const { wanted, quick, first } = this.next;
      this.next = null;
      this.quick = quick;
      clearTimeout(this.patience);
      this.since = performance.now();
      this.giveUp = new AbortController();
      const { signal } = this.giveUp;
      const answer = await post(this.path, { ...wanted, page: this.page, quick, first }, { signal, news: this.news });
      if (this.stopped) this.deliver(STOPPED, wanted);
      else if (answer.status !== OVERTAKEN) this.deliver(answer, wanted);
      if (quick && answer.status !== OVERTAKEN) this.quickPatience = QUICK_PATIENCE_MS;
      this.stopped = false;
      const again = answer.status === 200 && !this.next;
      if (again && quick) this.timer = setTimeout(() => this.want(wanted, false), SETTLED_MS);
      else if (again && first) this.next = { wanted, quick: false, first: false };
    }
    this.running = false;
    this.busy(false);
  }
}
