// Drives VS Code as a designer would: opens a design, reads what is underlined, has it put right, renames, opens the plan.
//
// `node drive.mjs PROGRAM VSIX FOLDER`: the checker, the packaged extension, and a folder with `granary.ufh.yaml` in it, where
// screenshots are left too.

import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import fs from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";

const [program, vsix, folder] = process.argv.slice(2);
const here = import.meta.dirname;
const server = path.join(here, "node_modules/code-server/out/node/entry.js");
const design = path.join(folder, "designs/granary.ufh.yaml");
const home = path.join(folder, "home");
const environment = { ...process.env, HOME: home, XDG_CONFIG_HOME: home, XDG_DATA_HOME: home, XDG_CACHE_HOME: home };
const places = ["--user-data-dir", path.join(home, "data"), "--extensions-dir", path.join(home, "extensions")];
const settings = {
  "security.workspace.trust.enabled": false,
  "workbench.startupEditor": "none",
  "workbench.tips.enabled": false,
  "window.commandCenter": false,
  "editor.fontSize": 13,
  "editor.minimap.enabled": false,
};
const LONG = Number(process.env.PATIENCE ?? 60_000);

for (const [kind, held] of Object.entries({ User: settings, Machine: { "hypocaust.path": program } })) {
  fs.mkdirSync(path.join(home, "data", kind), { recursive: true });
  fs.writeFileSync(path.join(home, "data", kind, "settings.json"), JSON.stringify(held));
}
execFileSync(process.execPath, [server, ...places, "--install-extension", vsix], { env: environment, stdio: "pipe" });

const host = spawn(
  process.execPath,
  [server, ...places, "--auth", "none", "--bind-addr", "127.0.0.1:0", "--disable-telemetry", "--disable-update-check", "--disable-getting-started-override", "--disable-workspace-trust"],
  { env: environment, stdio: ["ignore", "pipe", "pipe"] },
);
let browser;
let page;
let shots = 0;
try {
  const address = await new Promise((resolve, reject) => {
    let said = "";
    const hear = (bytes) => {
      said += bytes;
      const found = said.match(/HTTP server listening on (http:\S+)/);
      if (found) resolve(found[1].replace(/\/$/, ""));
    };
    host.stdout.on("data", hear);
    host.stderr.on("data", hear);
    host.on("exit", () => reject(new Error(`the host ended by itself:\n${said}`)));
  });
  browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox"] });
  page = await browser.newPage({ viewport: { width: 1500, height: 1150 } });
  page.setDefaultTimeout(LONG);
  await page.goto(`${address}/?folder=${path.dirname(design)}`);
  await drive();
  console.log("done");
} catch (error) {
  await page?.screenshot({ path: path.join(folder, "failed.png") }).catch(() => {});
  console.error(error);
  console.error(`what was to be seen: ${path.join(folder, "failed.png")}`);
  process.exitCode = 1;
} finally {
  await browser?.close();
  host.removeAllListeners("exit");
  host.kill();
  await new Promise((resolve) => (host.exitCode === null && host.signalCode === null ? host.on("exit", resolve) : resolve()));
}

async function drive() {
  // Open: only once the files are listed does the window hear its keys.
  await page.locator(".explorer-folders-view .monaco-list-row", { hasText: "granary.ufh.yaml" }).dblclick();
  await page.locator(".editor-instance .view-line").first().waitFor();
  await page.locator(".statusbar-item", { hasText: "Underfloor Heating" }).waitFor();

  // Findings: the misspelt key and nothing else is a warning. Its place is counted here in the text.
  await until("the misspelt key is told", async () => (await problems()).some((it) => it.includes("a room has no key")));
  const lines = fs.readFileSync(design, "utf8").split("\n");
  const line = lines.findIndex((it) => it.includes("heat-los:"));
  const column = lines[line].indexOf("heat-los:");
  const misspelt = (await problems()).find((it) => it.includes("a room has no key"));
  assert.match(misspelt, /a room has no key `heat-los`; did you mean `heat-loss`/);
  assert.match(misspelt, /unknown-field/);
  assert.match(misspelt, new RegExp(`Ln ${line + 1}, Col ${column + 1}\\b`));
  await until("the foot of the window counts the warnings", async () =>
    (await told()) > 0 && (await told()) === (await page.locator(".markers-panel .monaco-list-row .codicon-warning").count()));

  // What was worked out stands at the end of the line: 12 m² at 150 mm and 5 m of tails are 85 m of pipe.
  await lineOf("L1: {").locator("text=/85\\.0\\u00a0?\\s?m/").first().waitFor();
  await shot("open");

  // Hover.
  await goTo(line + 1, column + 3);
  const explained = page.locator(".monaco-hover:not(.hidden)", { hasText: "Every key must be one of the format" });
  await press(["Control+K", "Control+I"], explained);
  await shot("hover");
  await page.keyboard.press("Escape");

  // Remedy.
  await goTo(line + 1, column + 3);
  const offered = page.locator(".action-widget .monaco-list-row", { hasText: "write `heat-loss`" });
  await press(["Control+."], offered);
  const offers = await page.locator(".action-widget .monaco-list-row.action").allInnerTexts();
  await shot("remedy");
  assert.match(offers[0], /write `heat-loss`/, "the remedy comes first");
  assert.doesNotMatch(offers.at(-1), /record a departure/, "a slip is mended and not accepted");
  await page.keyboard.press("Enter");
  await until("the key is put right", async () => (await saved()).includes("heat-loss: 350 W"));
  await until("the finding goes", async () => !(await problems()).some((it) => it.includes("a room has no key")));

  // Edit: 12 m² at 100 mm and 5 m of tails are 125 m, more than the 100 m that the trade allows a pipe of 16 mm.
  const loop = lines.findIndex((it) => it.includes("L1: {"));
  const spacing = lines[loop].indexOf("150 mm");
  await goTo(loop + 1, spacing + 1);
  for (let i = 0; i < 3; i++) await page.keyboard.press("Delete");
  await page.keyboard.type("100");
  await until("the loop is too long", async () =>
    (await problems()).some((it) => it.includes("loop L1 is 125.0 m; the longest for a 16 mm pipe is 100.0 m")));

  // A departure, last of what is offered; nothing is chosen.
  await goTo(loop + 1, lines[loop].indexOf("L1:") + 1);
  await press(["Control+."], page.locator(".action-widget .monaco-list-row", { hasText: "record a departure" }).first());
  const accepted = await page.locator(".action-widget .monaco-list-row.action").allInnerTexts();
  // The host shows what changes the design otherwise in a group of its own, behind.
  const fixes = accepted.filter((it) => !it.includes("split L1 into two loops"));
  assert.match(fixes.at(-1), /record a departure from [a-z-]+ here/, "the departure comes last");
  await page.keyboard.press("Escape");

  // Completion: in a room, the keys that a room can have.
  const room = lines.findIndex((it) => it.includes("use: hall"));
  await goTo(room + 1, lines[room].indexOf("use: hall") + 1);
  await page.keyboard.type(", ");
  await goTo(room + 1, lines[room].indexOf("use: hall") + 1);
  await page.keyboard.type("heig");
  await press(["Control+Space"], page.locator(".suggest-widget.visible .monaco-list-row.focused", { hasText: "height" }));
  await shot("completion");
  await page.keyboard.press("Enter");
  await page.keyboard.type("2.4 m");
  await until("the key is taken", async () => (await saved()).includes("{height: 2.4 m, use: hall,"));

  // Rename: where the room is and where a loop names it.
  const named = lines.findIndex((it) => it.startsWith("  hoist:"));
  await goTo(named + 1, 4);
  const field = page.locator(".rename-box input");
  await press(["F2"], field);
  await field.fill("loading-bay");
  await field.press("Enter");
  await until("the room is renamed in both places", async () => {
    const text = await saved();
    return text.includes("\n  loading-bay:\n") && text.includes("room: loading-bay,") && !text.includes("hoist");
  });

  // The plan beside the text, drawn anew after a change, and a click on it goes to the text.
  await command("Open the Plan Beside the Text");
  const plan = page.frameLocator("iframe.webview.ready").frameLocator("#active-frame");
  await plan.locator('[data-kind="room"][data-name="loading-bay"]').first().waitFor();
  assert.equal(await plan.locator("#sheet script").count(), 0);
  await page.waitForTimeout(500);
  await shot("plan");
  await plan.locator('[data-kind="manifold"][data-name="M1"]').first().click({ force: true });
  const manifold = lines.findIndex((it) => it.startsWith("  M1:"));
  await page.locator(".statusbar-item", { hasText: `Ln ${manifold + 1}, ` }).waitFor();
  await goTo(named + 1, 3);
  await page.keyboard.type("old-");
  await plan.locator('[data-kind="room"][data-name="old-loading-bay"]').first().waitFor();
  for (let i = 0; i < 4; i++) await page.keyboard.press("Backspace");
  await plan.locator('[data-kind="room"][data-name="loading-bay"]').first().waitFor();

  // Schedule and workings as documents.
  await command("Open the Schedule of Loops");
  await page.locator(".tab", { hasText: "Schedule of granary.txt" }).waitFor();
  await page.locator(".editor-instance .view-line", { hasText: "125.0" }).first().waitFor();
  await shot("schedule");
  await page.locator(".tab", { hasText: "granary.ufh.yaml" }).first().click();
  await goTo(loop + 1, 4);
  await command("Open the Workings");
  await page.locator(".quick-input-list .monaco-list-row", { hasText: "L1" }).first().waitFor();
  await page.keyboard.press("Enter");
  await page.locator(".editor-instance .view-line", { hasText: "area-served / spacing + tails" }).first().waitFor();
  await page.locator(".tab", { hasText: "granary.ufh.yaml" }).first().click();

  // Guidance of the rule at the cursor.
  await goTo(loop + 1, 4);
  await command("Read the Guidance of a Rule");
  await page.locator(".quick-input-list .monaco-list-row", { hasText: "loop-over-maximum-length" }).first().waitFor();
  await page.keyboard.type("loop-over");
  await page.keyboard.press("Enter");
  await page.locator(".tab", { hasText: "loop-over-maximum-length" }).first().waitFor();
  const guidance = page.frameLocator("iframe.webview.ready >> visible=true").frameLocator("#active-frame");
  await guidance.getByRole("heading", { name: "loop-over-maximum-length" }).waitFor();
  await shot("guidance");

  // A setting counts at once: without figures at the end of lines.
  await page.locator(".tab", { hasText: "granary.ufh.yaml" }).first().click();
  await lineOf("L1: {").locator("text=/125\\.0\\u00a0?\\s?m/").first().waitFor();
  await set("hypocaust.inlayHints.enabled", false);
  await lineOf("L1: {").locator("text=/125\\.0\\u00a0?\\s?m/").first().waitFor({ state: "detached" });

  // All this while nothing failed. Once a server is stopped or missing, the host may tell of what it was just asked.
  const messages = await page.locator(".notification-list-item").allInnerTexts();
  const failures = messages.filter((it) => /fail/i.test(it));
  assert.deepEqual(failures, [], `something else was told: ${failures.join("; ")}`);

  // Restarted, it finds the same again.
  await command("Restart the Checker");
  await until("it finds the same again", async () => (await problems()).some((it) => it.includes("loop L1 is 125.0 m")));

  // A program that is not there is told by name.
  await set("hypocaust.path", "/nowhere/hypocaust");
  await page.locator(".notification-list-item", { hasText: "there is no program /nowhere/hypocaust" }).waitFor();
  await shot("missing");
  await page.getByText("How to install it").first().click();
  await page.getByText("Install the checker").first().waitFor();
  await page.waitForTimeout(1000);
  await shot("walkthrough");
}

/** How many warnings the foot of the window tells. */
async function told() {
  const text = await page.locator(".statusbar-item", { hasText: "floor check" }).innerText();
  return Number(text.match(/(\d+) warning/)?.[1] ?? 0);
}

/** All rows of the list of problems. */
async function problems() {
  const rows = page.locator(".markers-panel .monaco-list-row");
  if ((await page.locator(".markers-panel").count()) === 0) {
    await page.keyboard.press("Control+Shift+M");
    await page.locator(".markers-panel").waitFor();
  }
  return rows.allInnerTexts();
}

function lineOf(text) {
  return page.locator(".editor-instance .view-line", { hasText: text.replaceAll(" ", "\u00a0") }).first();
}

/** Sets something for the folder, and nothing else, as its user would: in the file of settings, in the editor. */
async function set(name, value) {
  await command("Preferences: Open Workspace Settings (JSON)");
  await page.locator(".tab.active", { hasText: "settings.json" }).waitFor();
  await page.locator(".editor-instance .monaco-editor.focused").waitFor();
  await page.keyboard.press("Control+A");
  await page.keyboard.press("Delete");
  await page.keyboard.insertText(JSON.stringify({ [name]: value }));
  await page.keyboard.press("Control+S");
  await page.locator(".tab.active:not(.dirty)", { hasText: "settings.json" }).waitFor();
  await page.locator(".tab", { hasText: "granary.ufh.yaml" }).first().click();
}

/** Presses keys until what they bring is there: on a busy machine the window may not be ready for the first time. */
async function press(keys, brings) {
  const end = Date.now() + LONG;
  for (;;) {
    for (const key of keys) await page.keyboard.press(key);
    const isThere = brings.first().waitFor({ timeout: 3_000 }).then(() => true, () => false);
    if (await isThere) return;
    if (Date.now() > end) throw new Error(`in vain: ${keys.join(" ")} brings ${brings}`);
  }
}

async function goTo(line, column) {
  await press(["Control+1"], page.locator(".editor-instance .monaco-editor.focused"));
  await press(["Control+G"], page.locator(".quick-input-widget input"));
  await page.keyboard.type(`${line}:${column}`);
  await page.keyboard.press("Enter");
  await page.locator(".statusbar-item", { hasText: `Ln ${line}, Col ${column}` }).waitFor();
  await page.locator(".editor-instance .monaco-editor.focused").waitFor();
}

async function command(title) {
  await press(["F1"], page.locator(".quick-input-widget input"));
  await page.keyboard.type(title);
  await page.locator(".quick-input-list .monaco-list-row", { hasText: title }).first().waitFor();
  await page.keyboard.press("Enter");
  await page.locator(`.quick-input-widget input[placeholder^="Type the name"]`).waitFor({ state: "hidden" });
}

/** The text, as it is on the disk after saving. */
async function saved() {
  await page.keyboard.press("Control+S");
  return fs.readFileSync(design, "utf8");
}

async function until(what, holds) {
  const end = Date.now() + LONG;
  let last = "";
  while (Date.now() < end) {
    if (await holds()) return;
    last = (await problems()).join("\n");
    await page.waitForTimeout(100);
  }
  throw new Error(`in vain: ${what}; the problems are\n${last}`);
}

async function shot(name) {
  shots += 1;
  await page.screenshot({ path: path.join(folder, `${shots}-${name}.png`) });
}
