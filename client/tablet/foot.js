/**
 * The foot of the page, after something moved: the words to other screens, the thread; and the hooks by which tests,
 * and the curious, see where this stand is.
 *
 * @typedef {import('./app.js').App} App
 */
import { h } from './dom.js';
import { stepsOn } from './order.js';

export class Foot {
  /** What the words on the thread say now. */ #named = '';

  /** @param {App} app */
  constructor(app) {
    this.app = app;
  }

  #drawRoles() {
    const { app } = this;
    const word = (/** @type {string} */ label, /** @type {() => void} */ touched, /** @type {string} */ hook) =>
      h('button.word', { type: 'button', onclick: touched, 'data-do': hook }, label);
    const { place } = app.reader;
    const several = place !== null && app.reader.choices(place.tune).length > 1;
    const shown = place?.copy?.part || app.room.chairName(place?.chair ?? '');
    const named = [app.session.roles.join(), several && shown].join('/');
    if (named === this.#named) return;
    this.#named = named;
    app.stand.thread.roles = [
      ...(app.mayLead ? [word('Lead', () => app.show('lead'), 'lead')] : []),
      ...(app.mayDirect ? [word('Form', () => app.show('form'), 'form')] : []),
      ...(app.mayDesk ? [word('Desk', () => app.show('desk'), 'desk')] : []),
      ...(several ? [word(shown, () => app.reader.otherPart(), 'other-part')] : []),
    ];
  }

  draw() {
    this.#drawRoles();
    const { reader, room, shelf, stand } = this.app;
    const { place } = reader;
    const copy = place?.copy;
    const laying = copy ? shelf.laying(copy) : null;
    stand.slips.turnTo(place?.tune ?? '');
    const data = document.body.dataset;
    data.call = String(reader.call);
    data.tune = place?.tune ?? '';
    data.chair = place?.chair ?? '';
    data.page = String(place?.page ?? 0);
    data.pages = String(laying?.pages.length ?? 0);
    data.revision = String(copy?.revision ?? 0);
    data.firstStep = String(copy?.firstStep ?? 0);
    data.stave = String(laying?.stave ?? 0);
    data.glass = place && reader.isOnGlass ? 'shown' : 'waiting';
    stand.restave();
    const view = place ? (shelf.tune(place.tune) ?? null) : null;
    const steps = place && laying ? stepsOn(laying.pages[place.page]) : null;
    const shown = steps && copy ? /** @type {[number, number]} */ ([copy.order[steps[0]], copy.order[steps[1]]]) : null;
    data.first = view && shown ? view.written[shown[0]]?.[0] : '';
    data.item = place?.item ?? '';
    stand.thread.next = room.titleOf(place && room.after(place));
    stand.thread.show(view, shown, place?.chair ?? '', room.position.tune === place?.tune ? room.position : undefined);
  }
}
