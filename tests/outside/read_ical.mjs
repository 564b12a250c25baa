// Read a feed strictly with ical.js and print its entries as JSON: [uid, start, end, summary], dates as they are,
// times in UTC. Any complaint of the reader ends it with status 1.
import { readFileSync } from "node:fs";
import ICAL from "ical.js";

ICAL.design.strict = true;
const calendar = new ICAL.Component(ICAL.parse(readFileSync(process.argv[2], "utf-8")));
const entries = calendar.getAllSubcomponents("vevent").map((component) => {
  const event = new ICAL.Event(component, { strictExceptions: true });
  return [event.uid, event.startDate.toString(), event.endDate.toString(), event.summary];
});
console.log(JSON.stringify(entries));
