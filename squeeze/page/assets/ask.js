// Talking to the server: one answer under way, the latest wins, first on a coarse mesh.

const PAGE = crypto.randomUUID();
const SETTLED_MS = 260;
const PATIENCE_MS = 1200;
const OVERTAKEN = 409;
const SILENCE = "The page's server does not answer. Is 'squeeze page' still running in its terminal? The page goes on by itself when it is back.";

/** The status of an answer that did not come, for the server is not there. */
export const DEAF = 0;

const STOPPED = { status: -1, error: "Stopped. Change something to close the cuts again." };

/** Send JSON and return {status, ...what came back}. */
export async function post(path, body, { method = "POST", signal = undefined } = {}) {
  try {
    const response = await fetch(path, {
      method,
      signal,
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ page: PAGE, ...body }),
    });
    return { ...(await response.json()), status: response.status };
  } catch (error) {
    return error.name === "AbortError" ? { status: OVERTAKEN } : { status: DEAF, error: SILENCE };
  }
}

/** Fetch JSON and return {status, ...what came back}. */
export async function get(path) {
  try {
    const response = await fetch(path);
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
   */
  constructor(name, deliver, busy = () => {}) {
    this.page = `${PAGE.slice(0, 40)}-${name}`;
    this.deliver = deliver;
    this.busy = busy;
    this.next = null;
    this.running = false;
    this.timer = 0;
  }

  /**
   * Ask for `wanted` ({mold, inches, against}). What was asked before and not begun is dropped;
   * what is under way is waited for, unless it takes long: then it is given up.
   */
  want(wanted, quick = true) {
    clearTimeout(this.timer);
    this.next = { wanted, quick };
    if (!this.running) this.run();
    else if (performance.now() - this.since > PATIENCE_MS) this.giveUp.abort();
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
      const { wanted, quick } = this.next;
      this.next = null;
      this.since = performance.now();
      this.giveUp = new AbortController();
      const { signal } = this.giveUp;
      const answer = await post("/close", { ...wanted, page: this.page, quick }, { signal });
      if (this.stopped) this.deliver(STOPPED, wanted);
      else if (answer.status !== OVERTAKEN) this.deliver(answer, wanted);
      this.stopped = false;
      const again = quick && answer.status === 200 && !this.next;
      if (again) this.timer = setTimeout(() => this.want(wanted, false), SETTLED_MS);
    }
    this.running = false;
    this.busy(false);
  }
}
