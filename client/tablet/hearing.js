/**
 * What becomes of each thing that the hub says: who is told of it, and what is drawn again.
 *
 * @typedef {import('./app.js').App} App
 * @typedef {import('./wire.js').FromHub} FromHub
 * @typedef {import('./wire.js').PositionView} PositionView
 */
import { sayCall, saySlip } from './said.js';

export class Hearing {
  /** A welcome came and not yet its position: that one may be of a call missed. */ #returning = true;
  #newHub = false;
  /** The desk was asked for and the hub has not said yet whether it may be opened. */ toDesk = false;

  /** @param {App} app */
  constructor(app) {
    this.app = app;
  }

  /** @param {FromHub} message */
  hear(message) {
    const { app } = this;
    if (message.type === 'welcome') this.#hearWelcome(message);
    else if (message.type === 'sorry') this.#hearSorry(message.why);
    else if (message.type === 'slip') {
      // Words for a moment that has passed would mislead; the new state stands on the thread. The Form lists it anyway.
      if (app.screen !== 'form' && !app.clock.tooLate(message.at)) saySlip(message, app.reader.place?.tune, app.room, app.stand.slips);
    } else if (message.type === 'tune') {
      app.shelf.hearTune(message);
      app.reader.hearTune(message);
    } else if (message.type === 'part') {
      // Many come, ahead of what is needed: no other screen is drawn for them, under a thumb that is on it.
      app.shelf.hearPart(message);
      return;
    } else if (message.type === 'presence') {
      // Who sits where is said on other screens: the page's foot stays as it is.
      app.room.hear(message);
      app.redrawScreen();
      return;
    } else if (message.type === 'position') this.#hearPosition(message);
    else if (message.type === 'desk') app.desk.hear(message);
    else if (message.type === 'band' || message.type === 'set' || message.type === 'date') {
      app.room.hear(message);
      app.reader.settle();
      if (message.type === 'band' && app.screen === 'desk') app.desk.draw();
    } else if (message.type === 'roles') {
      app.room.given = new Map(message.given);
      document.body.dataset.roles = message.roles.join(' ');
    } else if (message.type === 'history') app.date.hear(message);
    else if (message.type === 'done') void app.homing.move();
    else if (message.type === 'status') {
      if (this.#returning) app.reader.tellAnew();
      if (this.#returning) app.faring.tellAnew();
      this.#returning = false;
    }
    app.redraw();
  }

  /** @param {import('./wire.js').Welcome} message */
  #hearWelcome({ epoch, roles }) {
    const { app } = this;
    this.#returning = true;
    this.#newHub = document.body.dataset.epoch !== undefined && document.body.dataset.epoch !== epoch;
    document.body.dataset.epoch = epoch;
    document.body.dataset.roles = roles.join(' ');
    if (app.screen === 'door') app.door.state('in', app.why);
    app.why = '';
    if (this.toDesk && roles.includes('librarian')) app.show('desk');
    this.toDesk &&= app.screen !== 'desk';
    app.clock.forget();
    app.shelf.work();
  }

  /** Said at the Door as well, where it keeps a stand out. @param {string} why */
  #hearSorry(why) {
    const { session, door, stand } = this.app;
    if (this.toDesk) {
      this.toDesk = false;
      session.be({ codes: session.self.codes.slice(0, -1) });
      door.state('in', why);
    } else if (session.connection.state === 'joined') stand.slips.say(why);
  }

  /** @param {PositionView} position */
  #hearPosition(position) {
    const { room, reader, lead, shelf, stand } = this.app;
    const called = position.call !== room.position.call;
    const before = room.position;
    room.hear(position);
    if (called && !this.#returning) sayCall(before, position, room, stand.slips);
    if (this.#newHub) reader.recount(position.call);
    this.#newHub = false;
    if (called && !this.#returning && position.returns_to === null) lead.act.called(position.call);
    void reader.hearPosition(position, this.#returning);
    shelf.work();
  }
}
