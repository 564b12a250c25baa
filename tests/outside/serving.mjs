// What the scripts that drive the bench page share: the server they drive it on, started, waited for and stopped; and
// pages that are looked at twenty times a second while something is waited for, not drawn anew for each look.
import { spawn } from "node:child_process";
import { once } from "node:events";
import { connect } from "node:net";

let server = null;

export async function start(given) {
  server = spawn(given.python, ["-m", "almanac.cli.main", "--nursery", given.nursery, "serve", "--host", "0.0.0.0",
    "--port", String(given.port)], { stdio: "ignore" });
  for (let tries = 0; tries < 400; tries += 1) {
    const socket = connect(given.port, given.address);
    const open = await Promise.race([once(socket, "connect").then(() => true), once(socket, "error").then(() => false)]).catch(() => false);
    socket.destroy();
    if (open) return;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  throw new Error("the server does not listen");
}

export async function stop() {
  if (!server) return;
  server.kill("SIGINT");
  await once(server, "exit");
  server = null;
}

export function calmly(page) {
  const ask = page.waitForFunction.bind(page);
  page.waitForFunction = (what, about, more = {}) => ask(what, about, { polling: 50, ...more });
  return page;
}
