/**
 * A press counts once, however long the finger rests and whatever is drawn anew under it. A screen is drawn anew whenever
 * the hub says something, also while a finger is on one of its keys: the key that went down is gone then, and a browser
 * clicks nothing. Nor does it where a finger rests, which it takes for the wish for a menu. Here the key is clicked, if
 * the very same one lies under the finger again: a key that has become another one was not meant, nor one that was not
 * to be pressed yet.
 */

/** ms from which a browser may take a touch for something else: they begin at 400 to 500 (from memory). */
const RESTS = 350;
/** CSS px that a resting finger may stray; further it is a drag. */
const STRAYS = 12;

/** What a key does and says. @param {Element} key */
const saying = (key) =>
  [
    key.tagName,
    key.textContent,
    ...[...key.attributes].filter(({ name }) => name.startsWith('data-') || name === 'aria-label').map(({ name, value }) => `${name}=${value}`),
  ].join('\n');

/** @param {Document} page */
export function keepPresses(page) {
  /** @type {{pointer: number, key: Element, touch: boolean, since: number, at: [number, number], strayed: boolean} | null} */ let down = null;
  // Some browsers do click the new key, or after a long rest: then once is enough.
  let given = false;

  page.addEventListener(
    'pointerdown',
    ({ target, pointerId, pointerType, isPrimary, timeStamp, clientX, clientY }) => {
      const key = isPrimary && target instanceof Element ? target.closest('button') : null;
      given = key?.disabled ?? false;
      down = key && !key.disabled ? { pointer: pointerId, key, touch: pointerType !== 'mouse', since: timeStamp, at: [clientX, clientY], strayed: false } : null;
    },
    true,
  );
  page.addEventListener(
    'pointermove',
    ({ pointerId, clientX, clientY }) => {
      if (down?.pointer === pointerId) down.strayed ||= Math.hypot(clientX - down.at[0], clientY - down.at[1]) > STRAYS;
    },
    true,
  );
  page.addEventListener('pointercancel', () => (down = null), true);
  page.addEventListener('contextmenu', (event) => down?.touch && event.preventDefault());
  page.addEventListener('pointerup', ({ pointerId, clientX, clientY, timeStamp }) => {
    const pressed = down;
    down = null;
    if (!pressed || pressed.pointer !== pointerId) return;
    const rested = pressed.touch && !pressed.strayed && timeStamp - pressed.since >= RESTS;
    if (pressed.key.isConnected && !rested) return;
    const key = page.elementFromPoint(clientX, clientY)?.closest('button');
    if (!key || (key !== pressed.key && saying(key) !== saying(pressed.key))) return;
    given = true;
    key.click();
  });
  page.addEventListener(
    'click',
    (event) => {
      if (!given || !event.isTrusted || event.detail === 0) return;
      event.stopImmediatePropagation();
      event.preventDefault();
    },
    true,
  );
}
