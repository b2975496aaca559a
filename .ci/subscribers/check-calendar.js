// Reads the household's calendar with ical.js, by whom it was not written, and holds its days against the API's.
const ICAL = require('ical.js');

const [address, key] = process.argv.slice(2);
let failed = 0;
const check = (what, found, expected) => {
  const same = JSON.stringify(found) === JSON.stringify(expected);
  if (!same) failed += 1;
  console.log(`${same ? '' : 'FAILED: '}${what}`);
  if (!same) console.log(`  found    ${JSON.stringify(found)}\n  expected ${JSON.stringify(expected)}`);
};
const ask = async (path, options = {}) =>
  fetch(new URL(path, address), { ...options, headers: { Authorization: `Bearer ${key}`, 'Content-Type': 'application/json' } });

(async () => {
  const made = await (await ask('/api/calendar-address', { method: 'POST', body: '{"countEvery": "P1M"}' })).json();
  const answer = await fetch(made.address);
  const text = Buffer.from(await answer.arrayBuffer());

  // RFC 5545, section 3.1: lines end with CRLF and have at most 75 octets.
  const lines = text.toString('latin1').split('\r\n');
  check('Its lines end with CRLF and have at most 75 octets.',
    [lines.some((line) => line.length > 75 || line.includes('\n')), lines.at(-1)], [false, '']);

  const calendar = new ICAL.Component(ICAL.parse(text.toString('utf8')));
  const events = calendar.getAllSubcomponents('vevent').map((event) => new ICAL.Event(event));
  const said = (event, name) => event.component.getFirstPropertyValue(name);
  const of = (category) => events.filter((event) => said(event, 'categories') === category);
  const { date: today } = await (await ask('/api/today')).json();
  const household = await (await ask('/api/household')).json();
  check('ical.js reads it: version 2.0, and the zone of the household.',
    [calendar.getFirstPropertyValue('version'), calendar.getFirstPropertyValue('x-wr-timezone')], ['2.0', household.timeZone]);
  check('Each entry has a UID of its own, a SEQUENCE, a stamp in UTC, and whole days.',
    [new Set(events.map((event) => event.uid)).size, events.every((event) => Number.isInteger(event.sequence)
      && said(event, 'dtstamp').zone === ICAL.Timezone.utcTimezone && event.startDate.isDate && event.duration.toSeconds() === 86400)],
    [events.length, true]);

  const month = (day, months) => {
    const date = new Date(`${day.slice(0, 7)}-01T00:00:00Z`);
    date.setUTCMonth(date.getUTCMonth() + months);
    return date.toISOString().slice(0, 10);
  };
  const outlook = await (await ask('/api/outlook?months=12')).json();
  const { paydays } = await (await ask(`/api/paydays?from=${month(today, -1)}&to=${outlook.to}`)).json();
  const days = (category) => of(category).map((event) => event.startDate.toString()).sort();
  check('Paydays stand on the days of /paydays.', days('payday'), paydays.map((payday) => payday.day).sort());
  check('Cash is drawn on the paydays of /outlook.',
    of('payday').filter((event) => /To draw/.test(event.description ?? '')).map((event) => event.startDate.toString()).sort(),
    outlook.stretches.filter((stretch) => stretch.payday?.cash > 0).map((stretch) => stretch.payday.payday).sort());
  const { sinkingFunds } = await (await ask('/api/sinking-funds')).json();
  const bill = (goal, due) => `bill.${goal}.${due}`;
  check('Bills that /outlook has short are said to be, and no other.',
    of('bill').filter((event) => /will be missing/.test(event.description)).map((event) => event.uid.split('@')[0]).sort(),
    outlook.shortages.filter((short) => short.what === 'bill').map((short) => bill(short.goal, short.due)).sort());
  const next = sinkingFunds.flatMap((fund) => fund.nextBills).filter(({ due }) => due <= outlook.to);
  check('The next bill of each goal stands on its day, with its amount.',
    next.map(({ goal, due }) => of('bill').find((event) => event.uid.startsWith(bill(goal, due))))
      .map((event) => [event?.startDate.toString(), Number(/: ([0-9.]+) EUR due$/.exec(event?.summary)?.[1])]),
    next.map(({ due, amount }) => [due, amount]));
  check('There is something of each sort.', [...new Set(events.map((event) => said(event, 'categories')))].sort(),
    ['bill', 'count', "month's end", 'payday', 'saving step']);

  const again = await fetch(made.address, { headers: { 'If-None-Match': answer.headers.get('etag') } });
  check('Who has it is answered 304.', again.status, 304);
  console.log(`${events.length} entries`);
  process.exitCode = failed === 0 && events.length > 0 ? 0 : 1;
})();
