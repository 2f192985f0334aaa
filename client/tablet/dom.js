/**
 * An element: `h('button.key', {disabled: true, onclick: ...}, 'Call')`. Text is always text, never markup.
 * @param {string} kind tag with classes
 * @param {Record<string, unknown>} [properties] properties; those with a hyphen and `role` are attributes
 * @param {...(Node | string | null | undefined)} children
 * @returns {HTMLElement}
 */
export function h(kind, properties = {}, ...children) {
  const [tag, ...classes] = kind.split('.');
  const element = document.createElement(tag);
  if (classes.length) element.className = classes.join(' ');
  for (const [name, value] of Object.entries(properties)) {
    if (value === undefined) continue;
    if (name.includes('-') || name === 'role') element.setAttribute(name, String(value));
    else Object.assign(element, { [name]: value });
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

/** A key of ours, drawn. @param {string} label @param {() => void} onclick @param {Record<string, unknown>} [properties] */
export const key = (label, onclick, properties = {}) => h('button.key', { type: 'button', onclick, ...properties }, label);
