// Takes every address out of package-lock.json: npm needs none of them, and no committed file holds one.
import { readFileSync, writeFileSync } from "node:fs";

const place = new URL("../package-lock.json", import.meta.url);
const lock = JSON.parse(readFileSync(place, "utf8"));
for (const entry of Object.values(lock.packages)) {
  delete entry.funding;
  delete entry.resolved;
}
writeFileSync(place, JSON.stringify(lock, null, 2) + "\n");
