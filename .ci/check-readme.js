// Runs the commands in the console blocks of README.md and of the pages after it, in order, and compares what they print
// with what the page says.
//   node .ci/check-readme.js ADDRESS KEY            checks
//   node .ci/check-readme.js ADDRESS KEY --write    writes what they print into the pages
// Instants differ from run to run: each counts as the same.
const fs = require('fs');
const os = require('os');
const path = require('path');
const { spawnSync } = require('child_process');
const [address, key, write] = process.argv.slice(2);
const home = fs.mkdtempSync(path.join(os.tmpdir(), 'readme-'));
const env = {
  ...process.env,
  CASH: `${address}/api`,
  KEY: key,
  CASHEVENTS_URL: address,
  CASHEVENTS_KEY: key,
  HOME: home,
  LC_ALL: 'C',
  PATH: `${path.resolve('src/CashEvents.Cash/bin/Debug/net10.0')}:${process.env.PATH}`,
};
process.on('exit', () => fs.rmSync(home, { recursive: true }));
const sameInstant = (text) => text.replace(/\d{4}-\d\d-\d\dT[\d:.]+(Z|[+-]\d\d:\d\d)/g, 'INSTANT');
let passed = 0;
let failed = 0;

const check = (page) => fs.readFileSync(page, 'utf8').replace(/```console\n([\s\S]*?)```/g, (_, block) => {
  const steps = [];
  for (const line of block.split('\n').slice(0, -1)) {
    const last = steps[steps.length - 1];
    if (line.startsWith('$ ')) steps.push({ command: [line.slice(2)], output: [] });
    else if (last.output.length === 0 && last.command[last.command.length - 1].endsWith('\\')) last.command.push(line);
    else last.output.push(line);
  }
  return '```console\n' + steps.map(({ command, output }) => {
    const { stdout, stderr } = spawnSync('bash', ['-c', command.join('\n')], { env, encoding: 'utf8' });
    const printed = (stdout + stderr).replaceAll('\r', '').trimEnd().replaceAll(address, 'http://127.0.0.1:5080');
    if (write || sameInstant(printed) === sameInstant(output.join('\n'))) {
      passed += 1;
    } else {
      failed += 1;
      console.log(`FAILED $ ${command.join('\n')}\n${page} says:\n${output.join('\n')}\nit printed:\n${printed}`);
    }
    return `$ ${command.join('\n')}\n${printed}\n`;
  }).join('') + '```';
});
for (const page of ['README.md', 'docs/using.md']) {
  const checked = check(page);
  if (write) fs.writeFileSync(page, checked);
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(passed > 0 && failed === 0 ? 0 : 1);
