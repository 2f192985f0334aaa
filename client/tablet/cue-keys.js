/**
 * What is open now: a large key that cues the last time, and who plays next. Only for the tune that is on.
 *
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {import('./wire.js').Command} Command
 */
import { h, key } from './dom.js';

/**
 * @param {TuneView} view
 * @param {import('./room.js').Room} room
 * @param {(command: Command) => void} ask
 * @returns {HTMLElement[]} one for each open stretch
 */
export function cueKeys(view, room, ask) {
  const { position } = room;
  if (view.tune !== position.tune) return [];
  // A stretch that comes again after a D.S. is one decision, cued for whichever time round it is.
  const open = new Set(view.again.filter(([, , , times]) => times === 0).map(([, , , , , edit]) => edit));
  return [...open].map((edit) => {
    const cued = position.cued.includes(edit);
    const player = position.players[edit] ?? '';
    const name = (/** @type {string} */ who) => () => ask({ type: 'name-player', edit, who });
    const chairs = room.band.sections.flatMap((section) => section.chairs);
    const words = view.edits.find((one) => one.id === edit)?.words ?? '';
    return h(
      'section.cue',
      { 'data-open': edit, 'data-cued': cued },
      h('p.says-now', {}, cued ? 'Cued: the next ending is the last.' : words),
      cued
        ? key('Not yet', () => ask({ type: 'cue', edit, last: false }), { 'data-do': 'not-yet' })
        : key('Last time', () => ask({ type: 'cue', edit, last: true }), { 'data-do': 'cue', className: 'key strong' }),
      // Folded away: the thread below is what is looked at while the stretch goes round.
      h(
        'details.next-player',
        {},
        h('summary.key', { 'data-do': 'players' }, player ? `Plays next: ${player}` : 'Plays next'),
        h('div.players', { role: 'group', 'aria-label': 'Who plays next' }, ...chairs.map((chair) => key(chair.name, name(chair.name === player ? '' : chair.id), { 'data-player': chair.id, 'aria-pressed': chair.name === player }))),
      ),
    );
  });
}
