/** The cases that hub and stand share, and what the tests need to hold time still. */
import { readFileSync } from 'node:fs';

export const vectors = (name) => JSON.parse(readFileSync(new URL(`../vectors/${name}.json`, import.meta.url), 'utf8'));

/** A clock that goes when it is told to. */
export class HandClock {
  time = 0;
  waiting = [];
  now = () => this.time;
  lot = () => 0.5;
  after = (ms, then) => {
    const one = { at: this.time + ms, then };
    this.waiting.push(one);
    return () => (this.waiting = this.waiting.filter((other) => other !== one));
  };

  pass(ms) {
    const until = this.time + ms;
    for (;;) {
      const next = this.waiting.filter((one) => one.at <= until).sort((a, b) => a.at - b.at)[0];
      if (!next) break;
      this.waiting = this.waiting.filter((one) => one !== next);
      this.time = next.at;
      next.then();
    }
    this.time = until;
  }
}
