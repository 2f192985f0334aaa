/**
 * The Line-up, before the downbeat: a row a chair, and one sentence at the top: ready, or what is not.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./wire.js').StandView} StandView
 * @typedef {import('./wire.js').BandView} BandView
 * @typedef {{chair: string, name: string, here: boolean, says: string[], wants: string[]}} LineupRow `wants`: what is not well
 */
import { h, key } from './dom.js';

/** Percent of a battery that will not last a set, unless it charges. */
const LOW = 20;
/** ms there and back that a player would notice in a call. */
const SLOW = 500;

/** Empty chairs that are named in the sentence; of more, the number is enough. */
const NAMED = 6;

/** How long ago, as people say it. @param {number} seconds */
export const agoSaid = (seconds) => (seconds < 60 ? 'just now' : seconds < 3600 ? `${Math.floor(seconds / 60)} min ago` : `${Math.floor(seconds / 3600)} h ago`);

/** What one stand says of itself, and what it wants. @param {StandView} stand @returns {{says: string[], wants: string[]}} */
function fares(stand) {
  if (!stand.here) return { says: [`last seen ${agoSaid(stand.away)}`], wants: [] };
  const { missing, tunes, battery, charging, awake, upright, round_trip: trip } = stand;
  const lacks = missing === null ? 'its store is not told' : missing === 0 ? 'all stored' : `${missing} of ${tunes} tunes to come`;
  const power = battery === null ? '' : `battery ${battery} %${charging ? ', charging' : ''}`;
  const low = battery !== null && battery <= LOW && charging !== true;
  return {
    says: [lacks, power, awake === null ? '' : awake ? 'kept awake' : 'may fall asleep', upright === false ? 'held across' : '', trip === null ? '' : `${trip} ms`].filter(Boolean),
    wants: [missing ? lacks : '', low ? power : '', trip !== null && trip > SLOW ? `slow to reach (${trip} ms)` : ''].filter(Boolean),
  };
}

/** @param {BandView} band @param {StandView[]} stands @returns {LineupRow[]} */
export function lineup(band, stands) {
  return band.sections
    .flatMap((section) => section.chairs)
    .map(({ id, name }) => {
      const own = stands.filter((stand) => stand.chairs.includes(id));
      const here = own.filter((stand) => stand.here);
      const told = here.length ? here : own.sort((a, b) => a.away - b.away).slice(0, 1);
      const all = told.map(fares);
      return { chair: id, name, here: here.length > 0, says: all.map((one) => one.says.join(' · ')), wants: all.flatMap((one) => one.wants) };
    });
}

/** One sentence: ready, or what is not. @param {LineupRow[]} rows */
export function lineupSaid(rows) {
  const empty = rows.filter((row) => !row.here).map((row) => row.name);
  const wanting = rows.filter((row) => row.here && row.wants.length).map((row) => `${row.name}: ${row.wants.join(', ')}`);
  if (!empty.length && !wanting.length) return rows.length ? 'Ready.' : 'There are no chairs yet.';
  const seats = empty.length > NAMED ? [`${empty.length} of ${rows.length} chairs are empty`] : empty.length ? [`Empty: ${empty.join(', ')}`] : [];
  return `${[...seats, ...wanting].join('; ')}.`;
}

export class Lineup {
  element = h('main.lineup', { 'data-of': 'lineup' });

  /**
   * @param {Room} room
   * @param {object} to
   * @param {() => void} to.lead
   * @param {() => void} to.leave
   */
  constructor(room, to) {
    this.room = room;
    this.to = to;
  }

  draw() {
    const rows = lineup(this.room.band, this.room.presence.stands);
    const said = lineupSaid(rows);
    this.element.replaceChildren(
      h(
        'header.now',
        {},
        h('div', {}, h('p.over', {}, 'Line-up'), h('p.sentence-of', { role: 'status', 'data-ready': said === 'Ready.' }, said)),
        h('div.keys-of-screen', {}, key('Lead', this.to.lead, { 'data-do': 'lead' }), key('My page', this.to.leave, { 'data-do': 'leave' })),
      ),
      h('div.lined-up', { role: 'list' }, ...rows.map((row) => this.#row(row))),
    );
  }

  /** @param {LineupRow} row */
  #row({ chair, name, here, says, wants }) {
    const lines = says.length ? says : ['never here'];
    return h(
      'div.beaded',
      { role: 'listitem', 'data-chair': chair, 'data-full': here, 'data-wants': wants.length > 0 },
      h(here ? 'i.bead.full' : 'i.bead'),
      h('span', {}, name, ...(here ? [] : [h('em', {}, ' empty')])),
      ...lines.map((line) => h('small', {}, line)),
    );
  }
}
