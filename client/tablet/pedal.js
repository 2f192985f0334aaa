/** What pedals, rings and keyboards send, as turns. A pedal is a keyboard to the tablet. */

/** @type {Record<string, 'on' | 'back'>} */
const TURNS = {
  PageDown: 'on',
  ArrowRight: 'on',
  ArrowDown: 'on',
  ' ': 'on',
  Enter: 'on',
  PageUp: 'back',
  ArrowLeft: 'back',
  ArrowUp: 'back',
};

/**
 * The turn that a key asks for; none for a key that is held down, since a foot that rests must not run through the tune.
 * @param {{key: string, repeat: boolean, ctrlKey?: boolean, altKey?: boolean, metaKey?: boolean}} event
 * @returns {'on' | 'back' | null}
 */
export function turnOf(event) {
  if (event.repeat || event.ctrlKey || event.altKey || event.metaKey) return null;
  return TURNS[event.key] ?? null;
}

/** Whether a key is one of a pedal's, held down or not: then the page must not scroll by it. @param {string} key */
export const isPedal = (key) => key in TURNS;

/**
 * Whether a key may be taught to do something else than to turn: letters and figures write and are shortcuts, Tab goes
 * from key to key, and Escape leads back.
 * @param {{key: string, ctrlKey?: boolean, altKey?: boolean, metaKey?: boolean}} event
 */
export const mayBeTaught = (event) =>
  !(event.ctrlKey || event.altKey || event.metaKey) &&
  !/^[\p{L}\p{N}]$/u.test(event.key) &&
  !['Escape', 'Tab', 'Shift', 'Control', 'Alt', 'Meta', 'AltGraph', 'CapsLock', 'Process', 'Unidentified', 'Dead'].includes(event.key);
