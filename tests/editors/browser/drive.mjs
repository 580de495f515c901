// Drives an editor in a browser: CodeMirror with its language client, which speaks with the server over a WebSocket.
//
// `node drive.mjs PROGRAM FOLDER`: the checker, and a folder with `granary.ufh.yaml` in it, where screenshots are left too.
//
// Its client knows no code actions: that is asserted, so that this test tells when it learns them, and the remedy is typed by hand.

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import fs from "node:fs";
import http from "node:http";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { build } from "esbuild";
import { chromium } from "playwright-core";
import { WebSocketServer } from "ws";

const [program, folder] = process.argv.slice(2);
const here = import.meta.dirname;
const design = path.join(folder, "granary.ufh.yaml");
const text = fs.readFileSync(design, "utf8");
const lines = text.split("\n");
const LONG = 60_000;

const bundle = await build({
  entryPoints: [path.join(here, "page.mjs")],
  bundle: true,
  format: "esm",
  write: false,
  logLevel: "error",
});
const files = {
  "/": ["text/html; charset=utf-8", fs.readFileSync(path.join(here, "page.html"), "utf8")],
  "/page.js": ["text/javascript; charset=utf-8", bundle.outputFiles[0].text],
  "/design": ["application/json", JSON.stringify({ uri: pathToFileURL(design).href, text })],
};
const site = http.createServer((request, response) => {
  const [kind, body] = files[request.url] ?? ["text/plain", ""];
  response.writeHead(body ? 200 : 404, { "content-type": kind }).end(body);
});

/** What the client said and heard. */
const said = [];
const heard = [];
let server;
let ended;
new WebSocketServer({ server: site, path: "/server" }).on("connection", (socket) => {
  server = spawn(program, ["language-server"], { stdio: ["pipe", "pipe", "inherit"] });
  ended = new Promise((resolve) => server.on("exit", resolve));
  socket.on("message", (message) => {
    const bytes = Buffer.from(message);
    said.push(JSON.parse(bytes.toString()));
    server.stdin.write(`Content-Length: ${bytes.length}\r\n\r\n`);
    server.stdin.write(bytes);
  });
  let waiting = Buffer.alloc(0);
  server.stdout.on("data", (bytes) => {
    waiting = Buffer.concat([waiting, bytes]);
    for (;;) {
      const head = waiting.indexOf("\r\n\r\n");
      if (head < 0) return;
      const length = Number(waiting.subarray(0, head).toString().match(/Content-Length: (\d+)/i)[1]);
      if (waiting.length < head + 4 + length) return;
      const message = waiting.subarray(head + 4, head + 4 + length).toString();
      waiting = waiting.subarray(head + 4 + length);
      heard.push(JSON.parse(message));
      socket.send(message);
    }
  });
  socket.on("close", () => server.stdin.end());
});
await new Promise((resolve) => site.listen(0, "127.0.0.1", resolve));

let browser;
let page;
let shots = 0;
try {
  browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox"] });
  page = await browser.newPage({ viewport: { width: 1300, height: 700 } });
  page.setDefaultTimeout(LONG);
  const faults = [];
  page.on("pageerror", (error) => faults.push(error.message));
  await page.goto(`http://127.0.0.1:${site.address().port}/`);
  await drive();
  assert.deepEqual(faults, [], "the page had faults");
  await browser.close();
  browser = undefined;
  // The window is closed without a word; the server goes with it.
  await ended;
  console.log("done");
} catch (error) {
  await page?.screenshot({ path: path.join(folder, "failed.png") }).catch(() => {});
  console.error(error);
  console.error(`what was to be seen: ${path.join(folder, "failed.png")}`);
  process.exitCode = 1;
} finally {
  await browser?.close();
  server?.kill();
  site.close();
}

async function drive() {
  // Open. What is underlined is what the text has there, counted by the client from UTF-16.
  const misspelt = page.locator(".cm-lintRange-warning", { hasText: /^heat-los$/ });
  await misspelt.waitFor();
  const announced = said.find((it) => it.method === "initialize").params.capabilities;
  assert.equal(announced.textDocument?.codeAction, undefined, "the client has learnt code actions: drive them here");
  await shot("open");

  // Findings and hover come as one.
  await misspelt.hover();
  await page.locator(".cm-tooltip-lint", { hasText: "a room has no key `heat-los`; did you mean `heat-loss`" }).waitFor();
  await page.locator(".cm-lsp-hover-tooltip", { hasText: "Every key must be one of the format" }).waitFor();
  await shot("hover");

  // Edit: the key put right by hand, since the client offers no remedies.
  const room = lines.findIndex((it) => it.includes("heat-los:"));
  await put(room, lines[room].indexOf("heat-los:") + "heat-los".length);
  await page.keyboard.type("s");
  await misspelt.waitFor({ state: "detached" });
  // 12 m² at 100 mm and 5 m of tails are 125 m; the trade allows a pipe of 16 mm 100 m (common practice, no source).
  const loop = lines.findIndex((it) => it.includes("L1: {"));
  await put(loop, lines[loop].indexOf("150 mm"));
  for (let i = 0; i < 3; i++) await page.keyboard.press("Delete");
  await page.keyboard.type("100");
  await until("the loop is too long", () => last().some((it) => it.message === "loop L1 is 125.0 m; the longest for a 16 mm pipe is 100.0 m"));
  const tooLong = last().find((it) => it.code === "loop-over-maximum-length");
  assert.deepEqual(tooLong.range, { start: { line: loop, character: 2 }, end: { line: loop, character: 4 } });
  await page.locator(".cm-lintRange", { hasText: /^L1$/ }).first().waitFor();

  // Completion: the keys that a room can have.
  const hall = lines.findIndex((it) => it.includes("use: hall"));
  await put(hall, lines[hall].indexOf("use: hall"));
  await page.keyboard.type(", ");
  await put(hall, lines[hall].indexOf("use: hall"));
  await page.keyboard.type("heig");
  await page.keyboard.press("Control+Space");
  await page.locator(".cm-tooltip-autocomplete li[aria-selected] .cm-completionLabel", { hasText: /^height$/ }).waitFor();
  await shot("completion");
  // The client takes no answer in the first moment after its list has appeared.
  await page.waitForTimeout(200);
  await page.keyboard.press("Enter");
  await page.keyboard.type("2.4 m");
  await until("the key is taken", async () => (await now()).includes("{height: 2.4 m, use: hall,"));

  // Rename: where the room is and where a loop names it.
  await put(lines.findIndex((it) => it.startsWith("  hoist:")), 4);
  await page.keyboard.press("F2");
  const field = page.locator(".cm-panel input");
  await field.waitFor();
  await field.fill("loading-bay");
  await page.keyboard.press("Enter");
  await until("the room is renamed in both places", async () => {
    const text = await now();
    return text.includes("\n  loading-bay:\n") && text.includes("room: loading-bay,") && !text.includes("hoist");
  });
  await shot("renamed");
}

/** The findings that were told last. */
function last() {
  return heard.findLast((it) => it.method === "textDocument/publishDiagnostics")?.params.diagnostics ?? [];
}

/** The text as it is. */
function now() {
  return page.evaluate(() => window.view.state.doc.toString());
}

/** Puts the cursor at a place of the text. */
async function put(line, column) {
  await page.evaluate(
    ([line, column]) => {
      const at = window.view.state.doc.line(line + 1).from + column;
      window.view.dispatch({ selection: { anchor: at }, scrollIntoView: true });
      window.view.focus();
    },
    [line, column],
  );
}

async function until(what, holds) {
  const end = Date.now() + LONG;
  while (Date.now() < end) {
    if (await holds()) return;
    await page.waitForTimeout(50);
  }
  throw new Error(`in vain: ${what}; the findings are\n${last().map((it) => it.message).join("\n")}`);
}

async function shot(name) {
  shots += 1;
  await page.screenshot({ path: path.join(folder, `${shots}-${name}.png`) });
}
