// Compares each answer's status with the number that its request's title begins with.
const { requests } = JSON.parse(require('fs').readFileSync(process.argv[2], 'utf8'));
let passed = 0;
let failed = 0;
for (const { title, response } of requests) {
  const expected = Number.parseInt(title, 10);
  if (response?.statusCode === expected) {
    passed += 1;
  } else {
    failed += 1;
    console.log(`FAILED ${title}\n  answered ${response?.statusCode}: ${response?.body}`);
  }
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(passed > 0 && failed === 0 ? 0 : 1);
