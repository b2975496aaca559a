// The worker keeps the page's files, so that it opens where the server can't be reached.
navigator.serviceWorker?.register('service-worker.js', { updateViaCache: 'none' });
// The browser is asked not to throw away what was written here when it runs out of room.
navigator.storage?.persist?.();
