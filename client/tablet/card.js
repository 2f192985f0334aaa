/** What stands where there is no page: tacet, or not here yet. */
import { h } from './dom.js';

/**
 * @param {import('./turn.js').Place} place
 * @param {import('./shelf.js').CopyShelf} shelf
 * @param {import('./room.js').Room} room
 */
export function card(place, shelf, room) {
  const copy = shelf.copies(place.tune, place.chair)[0];
  const tacet = copy !== undefined && !copy.part;
  return h(
    'div.card',
    { 'data-card': tacet ? 'tacet' : 'coming' },
    h('p.over', {}, room.chairName(place.chair)),
    h('h1', {}, room.title(place.tune) || copy?.title || ''),
    h('p.large', {}, tacet ? 'Tacet' : 'On its way'),
    ...(tacet ? [h('p.quiet', {}, 'Nothing to play in this one.')] : []),
  );
}
