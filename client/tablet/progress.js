/**
 * What the hub is told of how far this stand got with a call or a decision; the same thing only once.
 *
 * @typedef {import('./turn.js').Place} Place
 * @typedef {import('./turn.js').Shelf} Shelf
 * @typedef {import('./wire.js').PositionView} PositionView
 * @typedef {import('./wire.js').Stage} Stage
 * @typedef {import('./wire.js').TuneView} TuneView
 */
import { laid } from './order.js';
import { nextStep } from './turn.js';

export class Progress {
  #told = '';

  /**
   * @param {import('./session.js').Session} session
   * @param {Shelf} shelf
   * @param {() => {place: Place | null, call: number, position: PositionView}} now where the stand is, and the band
   */
  constructor(session, shelf, now) {
    this.session = session;
    this.shelf = shelf;
    this.now = now;
  }

  /**
   * @param {Stage} stage
   * @param {TuneView | undefined} [view] the tune's revision meant; otherwise that of the visible copy
   * @param {number} [revision]
   */
  tell(stage, view, revision) {
    const { place, call, position } = this.now();
    const copy = place?.copy ?? null;
    const about = stage === 'glass' || view === undefined ? undefined : view;
    const keys = about ? laid(about).map(({ key }) => key) : (copy?.keys ?? []);
    const shown = {
      stage,
      chair: place?.chair ?? this.session.self.chairs[0] ?? '',
      call: stage === 'received' && !view ? position.call : call,
      tune: about?.tune ?? (stage === 'received' ? position.tune : place?.tune) ?? '',
      revision: revision ?? about?.revision ?? copy?.revision ?? 0,
      page: place?.page ?? 0,
      next_step: place ? nextStep(this.shelf, place, keys) : 0,
    };
    const told = JSON.stringify(shown);
    if (told === this.#told) return;
    this.#told = told;
    this.session.tell(shown);
  }

  /** Another hub, or one that was away: it knows nothing of this stand's glass. */
  forget() {
    this.#told = '';
  }
}
