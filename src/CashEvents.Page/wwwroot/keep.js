// What the phone keeps, in IndexedDB: the book's copy and what was written here. And what only a browser knows.
const stores = ['book', 'pencil', 'shown'];
let opened;

function open() {
  return opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open('cashevents', 1);
    asked.onupgradeneeded = () => stores.forEach(store => asked.result.createObjectStore(store));
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

const answer = asked => new Promise((done, failed) => {
  asked.onsuccess = () => done(asked.result);
  asked.onerror = () => failed(asked.error);
});

/** Everything in a store, in the order of its keys. */
export async function all(store) {
  const kept = (await open()).transaction(store).objectStore(store);
  return await answer(kept.getAll());
}

/** The same with its keys, from one moment: a neighbour may write between two looks. */
export async function entries(store) {
  const kept = (await open()).transaction(store).objectStore(store);
  const [keys, values] = await Promise.all([answer(kept.getAllKeys()), answer(kept.getAll())]);
  return keys.map((key, i) => ({ key, value: values[i] }));
}

export async function find(store, key) {
  return await answer((await open()).transaction(store).objectStore(store).get(key)) ?? null;
}

/** Several changes, all or none; done when they are on the disk. Null takes out; a key of null empties the store. */
export async function write(changes) {
  const database = await open();
  await new Promise((done, failed) => {
    const together = database.transaction([...new Set(changes.map(c => c.store))], 'readwrite',
      { durability: 'strict' });
    for (const { store, key, value } of changes) {
      const kept = together.objectStore(store);
      if (key === null) kept.clear();
      else if (value === null) kept.delete(key);
      else kept.put(value, key);
    }
    together.oncomplete = done;
    together.onerror = together.onabort = () => failed(together.error);
  });
  neighbours.postMessage('written');
}

// The same page in another window shares all this.
const neighbours = new BroadcastChannel('cashevents');

/** Tells of what happens outside: new lines, a neighbour that wrote, the network back, the page looked at again. */
export function listen(told, kinds) {
  const tell = what => told.invokeMethodAsync('Told', what);
  neighbours.onmessage = () => tell('neighbour');
  addEventListener('online', () => { hear(); tell('line'); });
  document.addEventListener('visibilitychange', () => { if (!document.hidden) { hear(); tell('line'); } });
  navigator.serviceWorker?.ready.then(worker => {
    const look = () => { if (worker.waiting) tell('newer'); };
    look();
    worker.addEventListener('updatefound', () => worker.installing?.addEventListener('statechange', look));
    document.addEventListener('visibilitychange', () => { if (!document.hidden) worker.update().catch(() => { }); });
  });
  let feed, waiting;
  function hear() {
    clearTimeout(waiting);
    if (feed && feed.readyState !== EventSource.CLOSED) return;
    feed = new EventSource('api/feed');
    feed.onopen = () => tell('line');
    for (const kind of kinds) feed.addEventListener(kind, () => tell('line'));
    feed.addEventListener('cutOff', () => tell('line'));
    feed.onerror = () => {
      tell('silent');
      if (feed.readyState === EventSource.CLOSED) waiting = setTimeout(hear, 5000);
    };
  }
  hear();
}

/** Loads the newer page, if one waits; what was written stays where it is kept. */
export async function loadNewer() {
  const waiting = (await navigator.serviceWorker?.getRegistration())?.waiting;
  if (!waiting) return;
  navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true });
  waiting.postMessage('take over');
}

/** How the reader's language writes numbers and days. */
export function language() {
  const tongue = navigator.language || 'en';
  const parts = new Intl.NumberFormat(tongue).formatToParts(1234567.5);
  const part = type => parts.find(p => p.type === type)?.value ?? '';
  const utc = (options, date) => new Intl.DateTimeFormat(tongue, { ...options, timeZone: 'UTC' }).format(date);
  const months = [...Array(12).keys()].map(m => new Date(Date.UTC(2024, m, 1)));
  const days = [...Array(7).keys()].map(d => new Date(Date.UTC(2023, 0, 1 + d)));
  const order = new Intl.DateTimeFormat(tongue, { day: 'numeric', month: 'short', timeZone: 'UTC' })
    .formatToParts(months[1]);
  return {
    tongue,
    decimal: part('decimal') || '.',
    group: part('group'),
    months: months.map(m => utc({ month: 'long' }, m)),
    shortMonths: months.map(m => utc({ month: 'short' }, m)),
    days: days.map(d => utc({ weekday: 'long' }, d)),
    shortDays: days.map(d => utc({ weekday: 'short' }, d)),
    monthFirst: order.findIndex(p => p.type === 'month') < order.findIndex(p => p.type === 'day'),
    clock12: new Intl.DateTimeFormat(tongue, { hour: 'numeric' }).resolvedOptions().hour12 === true,
  };
}

/** The code behind the # of the address, which no server is sent; it is taken out of the address and its history. */
export function takeCode() {
  const code = location.hash.slice(1);
  if (code) history.replaceState(history.state, '', location.pathname);
  return code;
}

/** The foot of the page, where a leaf is written on. */
export function showEnd() {
  scrollTo({ top: document.documentElement.scrollHeight });
}

export function printOut() {
  print();
}

export function focus(selector) {
  document.querySelector(selector)?.focus();
}
