// Subscribes to a live server, writes, and verifies what is sent with the JavaScript library of the Standard Webhooks
// specification: by the secret, by both while one is renewed, and by a wrong one. Prints "N passed, N failed" last.
const http = require('http');
const { Webhook } = require('standardwebhooks');
const [address, key] = process.argv.slice(2);

const received = [];
let told = () => {};
const receiver = http.createServer((request, response) => {
  let body = '';
  request.on('data', piece => { body += piece; });
  request.on('end', () => { received.push({ headers: request.headers, body }); response.writeHead(204).end(); told(); });
});
const until = async count => { while (received.length < count) await new Promise(resolve => { told = resolve; }); };

async function ask(method, path, body) {
  const answer = await fetch(address + path, {
    method,
    headers: { authorization: `Bearer ${key}`, ...(body && { 'content-type': 'application/json' }) },
    body: body && JSON.stringify(body),
  });
  if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${await answer.text()}`);
  return answer.status === 204 ? undefined : answer.json();
}

let passed = 0;
let failed = 0;
function check(what, holds) {
  if (holds) passed += 1; else failed += 1;
  console.log(`${holds ? '' : 'FAILED: '}${what}`);
}
function verifies(secret, { headers, body }) {
  try { new Webhook(secret).verify(body, headers); return true; } catch { return false; }
}

receiver.listen(0, '127.0.0.1', async () => {
  try {
    const url = `http://127.0.0.1:${receiver.address().port}/`;
    const { id, secret } = await ask('POST', '/api/webhooks', { url, kinds: ['walletOpened', 'compartmentOpened', 'fill'] });
    await ask('POST', '/api/webhooks/' + id + '/test');
    await until(1);
    check('A test verifies.', verifies(secret, received[0]));
    await ask('PUT', '/api/household', { name: 'Harbour Row', currency: 'EUR', timeZone: 'Europe/Dublin' });
    await ask('POST', '/api/wallets', { label: 'Oilskin wallet' });
    await ask('POST', '/api/compartments', { label: 'Ferry fares', wallet: 'oilskin-wallet', purpose: 'spending' });
    await ask('POST', '/api/fills', { compartment: 'ferry-fares', amount: 40, description: 'Zwölf Fähren – 船' });
    await until(4);
    check('Lines verify, with letters of any script.', received.slice(1).every(message => verifies(secret, message)));
    check('They come in order.', received.slice(1).map(m => JSON.parse(m.body).data.line).every((n, i, all) => i === 0 || n > all[i - 1]));
    check('A wrong secret does not verify.', !verifies('whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw', received[3]));
    check('A changed body does not verify.', !verifies(secret, { ...received[3], body: received[3].body.replace('40', '41') }));
    const renewed = await ask('POST', '/api/webhooks/' + id + '/secret');
    await ask('POST', '/api/fills', { compartment: 'ferry-fares', amount: 1 });
    await until(5);
    check('Renewed, both secrets verify.', verifies(secret, received[4]) && verifies(renewed.secret, received[4]));
  } catch (fault) {
    check(String(fault), false);
  }
  console.log(`${passed} passed, ${failed} failed`);
  process.exit(failed === 0 && passed > 0 ? 0 : 1);
});
setTimeout(() => { console.log('FAILED: nothing came for a minute.\n0 passed, 1 failed'); process.exit(1); }, 60000).unref();
