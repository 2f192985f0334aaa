/** A new id: 96 random bits in 16 letters, made where secure-context functions are missing too. */
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return btoa(String.fromCharCode(...bytes)).replaceAll('+', '-').replaceAll('/', '_');
}
