// Runs the commands of README.md's console blocks, in order, and compares what they print with what the README says.
//   node .ci/check-readme.js ADDRESS KEY            checks
//   node .ci/check-readme.js ADDRESS KEY --write    writes what they print into the README
// Instants differ from run to run: each counts as the same.
const fs = require('fs');
const { spawnSync } = require('child_process');
const [address, key, write] = process.argv.slice(2);
const env = { ...process.env, CASH: `${address}/api`, KEY: key };
const sameInstant = (text) => text.replace(/\d{4}-\d\d-\d\dT[\d:.]+(Z|[+-]\d\d:\d\d)/g, 'INSTANT');
let passed = 0;
let failed = 0;

const readme = fs.readFileSync('README.md', 'utf8');
const checked = readme.replace(/```console\n([\s\S]*?)```/g, (_, block) => {
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
      console.log(`FAILED $ ${command.join('\n')}\nREADME says:\n${output.join('\n')}\nit printed:\n${printed}`);
    }
    return `$ ${command.join('\n')}\n${printed}\n`;
  }).join('') + '```';
});
if (write) fs.writeFileSync('README.md', checked);
console.log(`${passed} passed, ${failed} failed`);
process.exit(passed > 0 && failed === 0 ? 0 : 1);
