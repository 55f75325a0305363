// One check in a process of its own, so that its peak memory is its own: node check-once.js '{"delivery":..., ...}'.
import { checkDelivery } from '../../dist/src/index.js';

const options = JSON.parse(process.argv[2]);
const start = performance.now();
const report = await checkDelivery(options);
const seconds = (performance.now() - start) / 1000;
const megabytes = process.resourceUsage().maxRSS / 1024;
process.stdout.write(JSON.stringify({ seconds, megabytes, points: report.delivery.points, verdict: report.verdict }));
