/**
 * The stand in the browser: puts the parts together and decides which screen is up.
 *
 * @typedef {import('./wire.js').Command} Command
 * @typedef {'door' | 'stand' | 'lead' | 'form' | 'date' | 'lineup' | 'desk' | 'printed'} Screen
 */
import { fileAddress } from './address.js';
import { card } from './card.js';
import { Composer } from './composer.js';
import { DateScreen } from './date.js';
import { Desk } from './desk.js';
import { Door } from './door.js';
import { Faring } from './faring.js';
import { Foot } from './foot.js';
import { Form } from './form.js';
import { Glass } from './glass.js';
import { Hearing } from './hearing.js';
import { Homing } from './homing.js';
import { HubClock } from './hub-clock.js';
import { typed } from './keyboard.js';
import { Lead } from './lead.js';
import { Lineup } from './lineup.js';
import { LOOKS } from './look.js';
import { Marker } from './marker.js';
import { shapeFor } from './page-shape.js';
import { keepPresses } from './press.js';
import { Printed } from './printed.js';
import { Reader } from './reader.js';
import { Room } from './room.js';
import { Session } from './session.js';
import { CopyShelf } from './shelf.js';
import { Stand } from './stand.js';
import { Store } from './store.js';
import { CLOSE_UNKNOWN_CHAIR } from './wire.js';

/** ms without the hub before the thread says so: a short gap is nobody's business. */
const AWAY_AFTER = 3000;

export class App {
  store = new Store('collaparte', () => this.trouble());
  room = new Room(this.store);
  clock = new HubClock();
  shape = shapeFor(innerWidth, innerHeight, navigator.maxTouchPoints > 0);
  /** @type {Screen} */ screen = 'door';
  homing = new Homing(this);
  hearing = new Hearing(this);
  /** What the Door says once it is open: why this stand came back to it. */ why = '';
  #foot = new Foot(this);
  #away = false;
  /** @type {ReturnType<typeof setTimeout> | undefined} */ #awayTimer;

  /** @type {Session} */ session = new Session(this.store, {
    page: () => (this.session.self.chairs.length ? this.shape.page : [0, 0]),
    heard: (message) => this.hearing.hear(message),
    linked: (state) => this.linked(state),
    turnedAway: (why, code) => this.turnedAway(why, code),
    marked: (added, removed) => this.reader.over.marked(added, removed),
    say: (words) => this.stand.slips.say(words),
    ticked: (at) => this.clock.hear(at),
  });
  shelf = new CopyShelf({
    store: this.store,
    fetchFile: (kind, hash) => fetch(fileAddress(kind, hash)),
    scale: () => this.shape.scale * devicePixelRatio,
    rank: (tune) => this.room.rank(tune),
    stave: (chair) => this.session.staveOf(chair),
    held: (tune) => this.reader.held.filter((copy) => copy.tune === tune),
    stored: (copy) => this.reader.stored(copy),
    progress: (complete) => {
      document.body.dataset.complete = String(complete);
      if (complete) void this.shelf.sweep(() => this.reader.held);
      this.faring.tell();
    },
  });
  /** @type {Stand} */ stand = new Stand({
    shape: () => this.shape,
    look: () => LOOKS[this.session.self.look],
    setLook: (look) => this.setLook(look),
    turnOn: () => this.reader.turnOn(),
    turnBack: () => this.reader.turnBack(),
    marker: () => this.marker,
    section: () => this.room.sectionOf(this.reader.place?.chair ?? ''),
    leave: () => {
      this.show('door');
      void this.homing.find();
    },
    asPrinted: () => this.showPrinted(),
    stave: () => ({ chosen: this.session.staveOf(this.chair), page: this.reader.stave }),
    setStave: (stave) => this.setStave(stave),
    told: () => this.reader.told,
  });
  /** @type {Reader} */ reader = new Reader({
    shelf: this.shelf,
    room: this.room,
    session: this.session,
    glass: new Glass(this.stand.page),
    composer: new Composer(),
    store: this.store,
    shape: () => this.shape,
    look: () => LOOKS[this.session.self.look],
    card: (place) => card(place, this.shelf, this.room),
    penUp: () => this.stand.pen.up,
    moved: () => this.#foot.draw(),
  });
  /** @type {Marker} */ marker = new Marker(this.reader, this.session, (chair) => this.room.sectionOf(chair));
  door = new Door(this.room, {
    knock: (code) => this.knock(code),
    sit: (chairs, role) => this.sit(chairs, role),
    desk: (code) => this.openDesk(code),
    mayDesk: () => this.mayDesk,
    version: () => this.homing.hub?.version ?? '',
    keeping: () => this.homing.keeping,
  });
  desk = new Desk(this.room, {
    ask: async (command) => {
      const answer = await this.session.ask(command, this.room.position.call);
      return answer.ok ? '' : answer.why;
    },
    codes: () => [...this.session.self.codes],
    look: () => LOOKS[this.session.self.look],
    leave: () => this.show(this.session.self.chairs.length ? 'stand' : 'door'),
  });
  lead = new Lead(this.room, {
    ask: (command) => this.ask(command),
    me: () => this.session.self.client,
    mayCall: () => this.session.roles.includes('leader'),
    tune: (tune) => this.shelf.tune(tune),
    leave: () => this.show('stand'),
    date: () => this.show('date'),
    lineup: () => this.show('lineup'),
    taught: () => this.session.self.callingKey,
    teach: (key) => this.session.be({ callingKey: key }),
  });
  lineup = new Lineup(this.room, { lead: () => this.show('lead'), leave: () => this.show('stand') });
  faring = new Faring({ send: (fares) => this.session.fares(fares), stored: () => this.shelf.storedOf(this.room.inSet, this.session.self.chairs) });
  date = new DateScreen(this.room, {
    ask: (command) => this.ask(command),
    lookBack: (id, date, before) => this.session.lookBack(id, date, before),
    tunes: () => this.room.set.tunes.flatMap(({ tune }) => this.shelf.tune(tune) ?? []),
    has: (role) => this.session.roles.includes(role),
    lead: () => this.show('lead'),
    leave: () => this.show('stand'),
  });
  form = new Form(this.room, {
    ask: (command) => this.ask(command),
    tune: () => (this.reader.place ? this.shelf.tune(this.reader.place.tune) : undefined),
    leave: () => this.show('stand'),
  });

  printed = new Printed({ leave: () => this.show('stand'), wide: () => Math.round(innerWidth * devicePixelRatio) });

  async start() {
    document.body.append(this.door.element, this.stand.element, this.lead.element, this.form.element, this.date.element, this.lineup.element, this.desk.element, this.printed.element);
    await Promise.all([this.room.restore(), this.shelf.restore(), this.session.restore()]);
    await this.reader.restore();
    this.setLook(this.session.self.look);
    this.stand.fit();
    this.listen();
    this.faring.start();
    void this.homing.keep();
    const code = new URLSearchParams(location.hash.slice(1)).get('code');
    // The code has been read; it need not stay in the address for the next eyes.
    if (code !== null) history.replaceState(null, '', location.pathname);
    const { self } = this.session;
    const known = self.chairs.length > 0 && (code === null || code === self.code);
    if (code !== null) this.session.be({ code });
    if (known) this.show('stand');
    else this.show('door');
    await this.homing.find();
    if (known || this.session.self.code) this.session.connection.open();
  }

  listen() {
    keepPresses(document);
    addEventListener('keydown', (event) => typed(this, event));
    addEventListener('resize', () => this.resized());
    for (const name of ['pageshow', 'online']) addEventListener(name, () => this.session.connection.wake());
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'visible') this.session.connection.wake();
      // A page that is put away gets no frame, and may never be shown again.
      else this.reader.keep();
    });
    addEventListener('pagehide', () => this.reader.keep());
  }

  resized() {
    const before = this.shape.page.join();
    this.shape = shapeFor(innerWidth, innerHeight, navigator.maxTouchPoints > 0);
    this.stand.fit();
    // Another shape of page is laid for anew; the same page at another size is only drawn again.
    if (before !== this.shape.page.join() && this.screen !== 'door') this.session.connection.open();
    this.reader.settle();
    this.faring.tell();
  }

  /** @param {import('./look.js').Look['name']} look */
  setLook(look) {
    if (look !== this.session.self.look) this.session.be({ look });
    document.body.dataset.look = look;
    document.querySelector('meta[name=theme-color]')?.setAttribute('content', LOOKS[look].paper);
    this.reader.settle();
  }

  /** The chair whose page is shown. */
  get chair() {
    return this.reader.place?.chair ?? '';
  }

  /** @param {number} stave mm */
  setStave(stave) {
    this.session.chooseStave(this.chair, stave);
    this.shelf.chosen();
    this.reader.settle();
    this.stand.restave();
  }

  /** @param {string} code */
  knock(code) {
    this.session.be({ code, chairs: [] });
    this.door.state('knocking');
    this.session.connection.open();
  }

  /** @param {string[]} chairs @param {string} role */
  sit(chairs, role) {
    const codes = role ? [...new Set([...this.session.self.codes, role])] : this.session.self.codes;
    // Other chairs see other markings: ask for all of them.
    const seq = chairs.join() === this.session.self.chairs.join() ? this.session.self.seq : 0;
    this.session.be({ chairs, codes, seq });
    this.reader.sitDown();
    this.show('stand');
    this.session.connection.open();
  }

  /** @param {string} code the librarian's; empty where it is known already */
  openDesk(code) {
    if (!code) {
      this.show('desk');
      return;
    }
    this.hearing.toDesk = true;
    this.session.be({ codes: [...new Set([...this.session.self.codes, code])] });
    this.session.connection.open();
  }

  /** @param {string} why @param {number} code */
  turnedAway(why, code) {
    // A chair that is gone leaves the code as good as it was: the Door shows those that are there.
    const chairGone = code === CLOSE_UNKNOWN_CHAIR && this.session.self.chairs.length > 0;
    if (chairGone) this.session.be({ chairs: [] });
    this.why = chairGone ? why : '';
    this.show('door');
    this.door.state(chairGone ? 'knocking' : 'no-code', why);
    if (chairGone) this.session.connection.open();
  }

  /** @param {import('./connection.js').LinkState} state */
  linked(state) {
    document.body.dataset.link = state;
    if (state === 'joined') {
      clearTimeout(this.#awayTimer);
      this.#awayTimer = undefined;
      this.#away = false;
    }
    // Counted from when the hub went: the tries in between do not put it off.
    else this.#awayTimer ??= setTimeout(() => ((this.#away = true), this.trouble()), AWAY_AFTER);
    if (this.screen === 'door' && state === 'away') this.door.state(this.session.self.code ? 'away' : 'no-code', this.session.connection.why ?? '');
    this.trouble();
  }

  trouble() {
    const words = [
      this.#away ? 'The hub is away: turns and markings work, calls do not arrive.' : '',
      this.store.lasting ? '' : 'This tablet cannot store the music: do not close or reload this page.',
      this.homing.kept === false ? 'This browser does not keep this page: do not reload it while the hub is away.' : '',
    ].filter(Boolean);
    this.stand.thread.trouble(words.join(' '), () => words.forEach((one) => this.stand.slips.say(one)));
    document.body.dataset.stored = String(this.store.lasting);
    this.#foot.draw();
  }

  /** @param {Command} command @returns {Promise<boolean>} */
  async ask(command) {
    const answer = await this.session.ask(command, this.room.position.call);
    if (!answer.ok) this.stand.slips.say(answer.why);
    return answer.ok;
  }

  get mayLead() {
    return this.session.roles.includes('leader') || this.session.roles.includes('md');
  }

  get mayDesk() {
    return this.session.roles.includes('librarian');
  }

  get mayDirect() {
    return this.session.roles.includes('md');
  }

  /** The pages of the shown part as they were brought in. */
  showPrinted() {
    const copy = this.reader.place?.copy;
    this.printed.open(copy?.version ?? '', copy?.part ?? '');
    this.show('printed');
  }

  /** @param {Screen} screen */
  show(screen) {
    this.screen = screen;
    document.body.dataset.screen = screen;
    this.stand.marking = false;
    this.lead.leave();
    if (screen === 'door') {
      this.door.open(this.session.self.code, this.session.self.chairs);
      if (this.session.connection.state === 'joined') this.door.state('in');
    }
    if (screen === 'date') this.date.open();
    if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
    if (screen === 'desk') this.desk.open();
    this.redraw();
  }

  redraw() {
    this.redrawScreen();
    this.#foot.draw();
  }

  /** The screen that is up, without the foot of the page. */
  redrawScreen() {
    if (this.screen === 'lead') this.lead.draw();
    if (this.screen === 'form') this.form.draw();
    if (this.screen === 'date') this.date.draw();
    if (this.screen === 'lineup') this.lineup.draw();
    if (this.screen === 'door') this.door.refresh();
  }
}

export const app = new App();
void app.start();
