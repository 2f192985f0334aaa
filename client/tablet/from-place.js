/** A place that has no key of its own, said by the leader: "4 before C", "third bar of D". */
import { h, key } from './dom.js';
import { drawnKeys, field } from './drawn-keys.js';

export class FromPlace {
  element = h('div.from-place');
  #said = '';

  /**
   * @param {(said: string) => Promise<boolean>} from turn every stand there; whether it took effect
   * @param {(on: boolean) => void} typing
   */
  constructor(from, typing) {
    this.from = from;
    this.typing = typing;
    this.#fold();
  }

  #fold() {
    this.typing(false);
    this.element.replaceChildren(key('Another place', () => this.#type(), { 'data-do': 'from-typed', className: 'key plain' }));
  }

  #type() {
    this.typing(true);
    this.#said = '';
    const there = key('From there', () => void this.#go(), { 'data-do': 'from-there', className: 'key strong', disabled: true });
    const input = field({
      label: 'From where',
      hint: '4 before C',
      changed: (value) => {
        this.#said = value.trim();
        Object.assign(there, { disabled: this.#said === '' });
      },
      entered: () => void this.#go(),
    });
    input.dataset.field = 'from';
    this.element.replaceChildren(
      h('div.field', {}, input, there),
      drawnKeys(() => input, ['before', 'after', 'bar', 'second time']),
      key('No keys', () => this.#fold(), { className: 'key plain' }),
    );
    input.focus();
  }

  async #go() {
    // What was refused stays to be mended.
    if (this.#said && (await this.from(this.#said))) this.#fold();
  }
}
