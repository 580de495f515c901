// The plan beside the text: drawn by the checker, shown here, drawn anew after each change.

import { randomBytes } from "node:crypto";
import * as vscode from "vscode";
import type { Checker } from "./checker";
import { LANGUAGE } from "./extension";
import { name, symbols } from "./documents";

/** What the server gives. */
type Drawn = { plans: { storey: string | null; svg: string }[]; without: string[] };

export class Plan implements vscode.Disposable {
  private panel: vscode.WebviewPanel | undefined;
  private design: vscode.TextDocument | undefined;
  /** Whether an answer is awaited, and whether the design has changed since it was asked for. */
  private asked = false;
  private stale = false;
  private readonly parts: vscode.Disposable[];

  constructor(
    private readonly checker: Checker,
    private readonly extension: vscode.Uri,
  ) {
    const draw = () => this.draw();
    this.parts = [
      // A library or another design may bear on the plan too.
      vscode.workspace.onDidChangeTextDocument((change) => {
        if (change.document.languageId === LANGUAGE) draw();
      }),
      vscode.workspace.onDidChangeConfiguration((change) => {
        if (change.affectsConfiguration("hypocaust")) draw();
      }),
      checker.onDidChange(draw),
      vscode.window.onDidChangeActiveTextEditor((editor) => {
        const isDesign = editor?.document.languageId === LANGUAGE && editor.document.uri.path.endsWith(".ufh.yaml");
        if (this.panel && isDesign) this.follow(editor.document);
      }),
    ];
  }

  async open(design: vscode.TextDocument): Promise<void> {
    if (!this.panel) {
      const media = vscode.Uri.joinPath(this.extension, "media");
      const where = { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true };
      const panel = vscode.window.createWebviewPanel("hypocaust.plan", "Plan", where, {
        enableScripts: true,
        localResourceRoots: [media],
        retainContextWhenHidden: true,
      });
      panel.onDidDispose(() => (this.panel = undefined));
      panel.webview.onDidReceiveMessage((message) => {
        if (message === "ready") this.draw();
        else void this.goTo(String(message.kind), String(message.name));
      });
      panel.webview.html = page(panel.webview, media);
      this.panel = panel;
    } else {
      this.panel.reveal(undefined, true);
    }
    this.follow(design);
  }

  dispose(): void {
    this.panel?.dispose();
    this.parts.forEach((it) => it.dispose());
  }

  private follow(design: vscode.TextDocument): void {
    this.design = design;
    if (this.panel) this.panel.title = `Plan of ${name(design)}`;
    this.draw();
  }

  /** Asks for the plan as the text is now; at most one question is open at a time. */
  private draw(): void {
    this.stale = true;
    if (!this.asked) void this.drawWhileStale();
  }

  private async drawWhileStale(): Promise<void> {
    this.asked = true;
    while (this.stale && this.panel && this.design) {
      this.stale = false;
      const findings = vscode.workspace.getConfiguration("hypocaust").get<boolean>("plan.findings", true);
      try {
        const drawn = await this.checker.ask<Drawn>("hypocaust.plan", this.design.uri.toString(), { findings });
        await this.panel.webview.postMessage(drawn);
      } catch (error) {
        // While the text changes there may be no answer; the last plan stays until there is one.
        if (!this.stale) await this.panel?.webview.postMessage({ reason: error instanceof Error ? error.message : String(error) });
      }
    }
    this.asked = false;
  }

  /** Shows the text of what was clicked: `room`, `sack-store` stands in the block `rooms`. */
  private async goTo(kind: string, thing: string): Promise<void> {
    if (!this.design) return;
    const blocks = (await symbols(this.design)).filter((it) => it.name.startsWith(kind));
    const found = blocks.flatMap((it) => it.children).find((it) => it.name === thing);
    if (!found) return;
    await vscode.window.showTextDocument(this.design, {
      viewColumn: vscode.window.visibleTextEditors.find((it) => it.document === this.design)?.viewColumn,
      selection: found.selectionRange,
    });
  }
}

/** Nothing but our own two files may run or shape the page; what the drawing brings along may not. */
function page(webview: vscode.Webview, media: vscode.Uri): string {
  const file = (name: string) => webview.asWebviewUri(vscode.Uri.joinPath(media, name));
  const nonce = randomBytes(16).toString("base64");
  const policy = `default-src 'none'; script-src 'nonce-${nonce}'; style-src 'nonce-${nonce}';`;
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<link nonce="${nonce}" rel="stylesheet" href="${file("plan.css")}">
<title>Plan</title>
</head>
<body>
<nav><span id="storeys"></span><span id="zoom"><button id="out" title="smaller">−</button><button id="fit" title="as wide as the window">fit</button><button id="in" title="larger">+</button></span></nav>
<p id="said" role="status"></p>
<main id="sheet"></main>
<script nonce="${nonce}" src="${file("plan.js")}"></script>
</body>
</html>`;
}
