// How Chromium is started, whichever driver drives it: as a person has it, with a folder of its own.
import { join } from "node:path";

export const flags = ({ home, hosts }) => [
  "--headless=new", "--no-first-run", "--no-default-browser-check", "--disable-dev-shm-usage", "--disable-background-networking",
  "--remote-debugging-port=0", `--user-data-dir=${join(home, "profile")}`,
  ...(process.getuid() === 0 ? ["--no-sandbox"] : []), // it will not start as root with one
  ...(hosts ? [`--host-resolver-rules=${hosts}`] : []), "about:blank",
];

/** listens finds in what it says where a driver connects to it. */
export const listens = /^DevTools listening on (ws:\S+)/m;
