/**
 * Finding the hub from wherever this page was opened, and coming home: to the origin under which a stand keeps its
 * things, and to a page that the browser keeps.
 *
 * @typedef {import('./app.js').App} App
 * @typedef {import('./address.js').HubInfo} HubInfo
 */
import { hubInfo } from './address.js';
import { answering, betterHomes, keepPage, keeping } from './home.js';

export class Homing {
  /** What the hub told of itself, once it has. @type {HubInfo | null} */ hub = null;
  /** Whether the browser keeps this page; null where that cannot be had. @type {boolean | null} */ kept = null;

  /** @param {App} app */
  constructor(app) {
    this.app = app;
  }

  get keeping() {
    return keeping(this.kept, this.hub, Date.now() / 1000);
  }

  /** Ask where the hub's sockets are; without an answer, where they were the last time. */
  async find() {
    const { room, session, door } = this.app;
    try {
      const info = await hubInfo();
      this.hub = info;
      if (!room.band.name) room.band = { ...room.band, name: info.band };
      session.be({ socket: info.socket });
      if (this.app.screen === 'door') door.draw();
      void this.move();
    } catch {
      if (!session.self.socket) setTimeout(() => void this.find(), 2000);
    }
  }

  /** Have the browser keep the page, and say so where it does not. */
  async keep() {
    this.kept = await keepPage();
    document.body.dataset.kept = String(this.kept);
    if (this.app.screen === 'door') {
      this.app.door.draw();
      // Here and not over the music: some browsers ask the player.
      if (this.kept) void navigator.storage?.persist?.().catch(() => {});
    }
    this.app.trouble();
  }

  /**
   * A bare address only joins: what a stand keeps, it keeps under the hub's one name, where that works, and on the
   * secure page, where its certificate is trusted. Whoever sits is left alone, and what waits here for the hub goes first.
   */
  async move() {
    const { outbox, self } = this.app.session;
    const stays = () => this.app.screen !== 'door' || outbox.waiting.length > 0;
    if (!this.hub || stays()) return;
    const home = await answering(betterHomes(this.hub, location), this.hub.epoch);
    if (home && !stays()) location.replace(`${home}/${self.code ? `#code=${encodeURIComponent(self.code)}` : ''}`);
  }
}
