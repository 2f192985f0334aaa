/**
 * A press that outlives its key. A screen is drawn anew whenever the hub says something, also while a finger is on one of
 * its keys; a browser clicks nothing then, as the key that went down is gone. Here it is clicked, if the very same key
 * lies under the finger again: a key that has become another one was not meant.
 */

/** What a key does and says. @param {Element} key */
const saying = (key) =>
  [
    key.tagName,
    key.textContent,
    ...[...key.attributes].filter(({ name }) => name.startsWith('data-') || name === 'aria-label').map(({ name, value }) => `${name}=${value}`),
  ].join('\n');

/** @param {Document} page */
export function keepPresses(page) {
  /** @type {{pointer: number, key: Element} | null} */ let down = null;
  // Some browsers do click the new key: then once is enough.
  let given = false;

  page.addEventListener(
    'pointerdown',
    ({ target, pointerId, isPrimary }) => {
      given = false;
      const key = isPrimary && target instanceof Element ? target.closest('button') : null;
      down = key && { pointer: pointerId, key };
    },
    true,
  );
  page.addEventListener('pointercancel', () => (down = null), true);
  page.addEventListener('pointerup', ({ pointerId, clientX, clientY }) => {
    const pressed = down;
    down = null;
    if (!pressed || pressed.pointer !== pointerId || pressed.key.isConnected) return;
    const key = page.elementFromPoint(clientX, clientY)?.closest('button');
    if (!key || saying(key) !== saying(pressed.key)) return;
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
