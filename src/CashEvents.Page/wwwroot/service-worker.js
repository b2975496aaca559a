// Keeps the page's files by the list that the build makes. Nothing of the book passes through here.
self.importScripts('./service-worker-assets.js');

const prefix = 'page-';
const current = prefix + self.assetsManifest.version;
const kept = self.assetsManifest.assets.filter(file =>
  /\.(wasm|js|css|html|json|dat|blat|png|svg|webmanifest)$/.test(file.url)
  && !/^service-worker/.test(file.url) && !/\.(gz|br)$/.test(file.url));
const addresses = new Set(kept.map(file => new URL(file.url, self.location).href));
const views = /^\/((sheets|payday|count|ahead|book|enter)(\/.*)?)?$/;

self.addEventListener('install', event => event.waitUntil(keep()));
self.addEventListener('activate', event => event.waitUntil(forget()));
// The page that is open goes on with its own files until whoever looks at it has the newer ones loaded.
self.addEventListener('message', event => { if (event.data === 'take over') self.skipWaiting(); });
self.addEventListener('fetch', event => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin) {
    return;
  }
  if (request.mode === 'navigate' && views.test(url.pathname)) {
    event.respondWith(find('index.html', request));
  } else if (addresses.has(url.href)) {
    event.respondWith(find(request.url, request));
  }
});

// Files that did not change since the version before are taken from there.
async function keep() {
  const cache = await caches.open(current);
  for (let i = 0; i < kept.length; i += 12) {
    await Promise.all(kept.slice(i, i + 12).map(async file => {
      const fingerprinted = /\.[a-z0-9]{10}\.[a-z]+$/.test(file.url);
      const before = fingerprinted ? await caches.match(file.url) : undefined;
      if (before) {
        await cache.put(file.url, before);
      } else {
        await cache.add(new Request(file.url, { integrity: file.hash, cache: fingerprinted ? 'default' : 'no-cache' }));
      }
    }));
  }
  if (!self.registration.active) await self.skipWaiting();
}

async function forget() {
  await Promise.all((await caches.keys()).filter(name => name.startsWith(prefix) && name !== current)
    .map(name => caches.delete(name)));
  await self.clients.claim();
}

async function find(what, request) {
  const cache = await caches.open(current);
  return await cache.match(what) ?? fetch(request);
}
