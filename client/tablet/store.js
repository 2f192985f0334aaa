/**
 * The one store on the tablet, on http as on https: IndexedDB, with memory in front of what must be at hand and in its
 * place when it fails. `lasting` says whether everything put so far would survive a reload.
 */

/**
 * What is kept, by kind:
 * `self` who this stand is and where (key: name), `views` the hub's newest (key: kind and tune), `copies` what each
 * chair has of a tune, `files` layings and piece lists (key: hash), `sheets` pictures (key: hash),
 * `outbox` commands that wait (key: id), `marks` the fold of markings, `own` own acknowledged markings (key: id).
 * @typedef {'self' | 'views' | 'copies' | 'files' | 'sheets' | 'outbox' | 'marks' | 'own'} Kind
 */
/** @type {Kind[]} */
const KINDS = ['self', 'views', 'copies', 'files', 'sheets', 'outbox', 'marks', 'own'];
const VERSION = 1;

/** @template T @param {IDBRequest<T>} request @returns {Promise<T>} */
const settled = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/** @param {string} name @returns {Promise<IDBDatabase>} */
function opened(name) {
  const request = indexedDB.open(name, VERSION);
  request.onupgradeneeded = () => {
    for (const kind of KINDS) request.result.createObjectStore(kind);
  };
  return settled(request);
}

export class Store {
  /** @type {IDBDatabase | null} */ #database = null;
  /** What the database could not take. @type {Map<Kind, Map<string, unknown>>} */
  #memory = new Map(KINDS.map((kind) => [kind, new Map()]));
  #lasting = true;

  /** @param {string} name @param {(lasting: boolean) => void} [changed] */
  constructor(name, changed = () => {}) {
    this.name = name;
    this.changed = changed;
  }

  get lasting() {
    return this.#lasting;
  }

  /**
   * Run work in one transaction; a database that was closed under us (a tablet that slept) is opened once more.
   * @template T
   * @param {Kind[]} kinds
   * @param {IDBTransactionMode} mode
   * @param {(transaction: IDBTransaction) => Promise<T>} work
   * @returns {Promise<T>}
   */
  async #within(kinds, mode, work) {
    for (let attempt = 0; ; attempt++) {
      try {
        this.#database ??= await this.#open();
        const transaction = this.#database.transaction(kinds, mode);
        const finished = new Promise((resolve, reject) => {
          transaction.oncomplete = () => resolve(undefined);
          transaction.onabort = () => reject(transaction.error ?? new Error('aborted'));
        });
        finished.catch(() => {});
        const result = await work(transaction);
        await finished;
        return result;
      } catch (error) {
        const full = error instanceof DOMException && error.name === 'QuotaExceededError';
        if (attempt || full) throw error;
        this.#database?.close();
        this.#database = null;
      }
    }
  }

  async #open() {
    const database = await opened(this.name);
    database.onclose = () => {
      this.#database = null;
    };
    database.onversionchange = () => database.close();
    return database;
  }

  #failed() {
    if (!this.#lasting) return;
    this.#lasting = false;
    this.changed(false);
  }

  /** @param {Kind} kind */
  #kept(kind) {
    return /** @type {Map<string, unknown>} */ (this.#memory.get(kind));
  }

  /**
   * @param {Kind} kind
   * @param {string} key
   * @returns {Promise<any>} undefined when it is not there
   */
  async get(kind, key) {
    const kept = this.#kept(kind);
    if (kept.has(key)) return kept.get(key);
    try {
      return await this.#within([kind], 'readonly', (t) => settled(t.objectStore(kind).get(key)));
    } catch {
      this.#failed();
      return undefined;
    }
  }

  /**
   * @param {Kind} kind
   * @returns {Promise<[string, any][]>} in the order of their keys
   */
  async all(kind) {
    /** @type {Map<string, unknown>} */ const found = new Map();
    try {
      const [keys, values] = await this.#within([kind], 'readonly', (t) =>
        Promise.all([settled(t.objectStore(kind).getAllKeys()), settled(t.objectStore(kind).getAll())]),
      );
      keys.forEach((key, n) => found.set(String(key), values[n]));
    } catch {
      this.#failed();
    }
    for (const [key, value] of this.#kept(kind)) found.set(key, value);
    return [...found].sort(([a], [b]) => (a < b ? -1 : 1));
  }

  /** @param {Kind} kind @param {string} key @param {unknown} value */
  put(kind, key, value) {
    return this.putAll([[kind, key, value]]);
  }

  /**
   * Several things at once, all or none; on failure they stay in memory and `lasting` falls.
   * @param {[Kind, string, unknown][]} items
   */
  async putAll(items) {
    if (!items.length) return;
    try {
      await this.#within([...new Set(items.map(([kind]) => kind))], 'readwrite', async (t) => {
        for (const [kind, key, value] of items) t.objectStore(kind).put(value, key);
        // At once: a page that is being left may not be there when the browser would do it by itself.
        t.commit?.();
      });
      for (const [kind, key] of items) this.#kept(kind).delete(key);
    } catch {
      for (const [kind, key, value] of items) this.#kept(kind).set(key, value);
      this.#failed();
    }
  }

  /** @param {Kind} kind @param {string[]} keys */
  async remove(kind, keys) {
    if (!keys.length) return;
    for (const key of keys) this.#kept(kind).delete(key);
    try {
      await this.#within([kind], 'readwrite', async (t) => {
        for (const key of keys) t.objectStore(kind).delete(key);
      });
    } catch {
      this.#failed();
    }
  }

  /** @param {Kind} kind @returns {Promise<string[]>} */
  async keys(kind) {
    try {
      const keys = await this.#within([kind], 'readonly', (t) => settled(t.objectStore(kind).getAllKeys()));
      return [...new Set([...keys.map(String), ...this.#kept(kind).keys()])];
    } catch {
      this.#failed();
      return [...this.#kept(kind).keys()];
    }
  }

  /** Whether something is there, without reading it. @param {Kind} kind @param {string} key */
  async has(kind, key) {
    if (this.#kept(kind).has(key)) return true;
    try {
      return (await this.#within([kind], 'readonly', (t) => settled(t.objectStore(kind).count(key)))) > 0;
    } catch {
      this.#failed();
      return false;
    }
  }
}
