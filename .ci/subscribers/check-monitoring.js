// Each measure that the dashboard and the alerts name is one that the server tells.
const fs = require('fs');
const told = new Set([...fs.readFileSync(process.argv[2], 'utf8').matchAll(/^# TYPE (\S+) (\S+)$/gm)]
  .flatMap(([, name, type]) => (type === 'histogram' ? ['_bucket', '_sum', '_count'].map((part) => name + part) : [name])));
const asked = ['docs/monitoring/dashboard.json', 'docs/monitoring/alerts.yml']
  .flatMap((file) => fs.readFileSync(file, 'utf8').match(/\b(cashevents|http_server)_[a-z_]+/g));
// Only told once there is something to tell.
const later = ['cashevents_backup_age_seconds', 'cashevents_deliveries_total'];
const missing = [...new Set(asked)].filter((name) => !told.has(name) && !later.includes(name));
console.log(missing.length === 0 ? `${new Set(asked).size} measures` : `not told: ${missing.join(', ')}`);
process.exitCode = missing.length === 0 ? 0 : 1;
