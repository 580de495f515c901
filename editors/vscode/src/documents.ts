// Schedule, workings and guidance as documents to read; they follow the design.

import * as vscode from "vscode";
import type { Checker } from "./checker";

const SCHEME = "hypocaust";
/** How long the design must have rested before what is shown of it is asked for again. */
const REST = 300;

/** What a document shows: the answer to a command. */
type Shown = { command: string; given: unknown[] };

export class Documents implements vscode.Disposable, vscode.TextDocumentContentProvider {
  private readonly changed = new vscode.EventEmitter<vscode.Uri>();
  readonly onDidChange = this.changed.event;
  private readonly parts: vscode.Disposable[];
  private timer: NodeJS.Timeout | undefined;

  constructor(private readonly checker: Checker) {
    this.parts = [
      vscode.workspace.registerTextDocumentContentProvider(SCHEME, this),
      vscode.workspace.onDidChangeTextDocument(({ document }) => {
        if (document.uri.scheme !== SCHEME) this.refreshSoon();
      }),
      checker.onDidChange(() => this.refreshSoon()),
    ];
  }

  async openSchedule(design: vscode.TextDocument): Promise<void> {
    const uri = design.uri.toString();
    await this.show(`Schedule of ${name(design)}.txt`, { command: "hypocaust.schedule", given: [uri, "text"] });
  }

  /** Asks whose workings are wanted; what stands at the cursor comes first. */
  async openWorkings(design: vscode.TextDocument): Promise<void> {
    const uri = design.uri.toString();
    const cursor = vscode.window.activeTextEditor?.selection.active;
    const all = { label: "all of the design", thing: "", description: "" };
    const things = (await symbols(design)).flatMap((block) =>
      block.children.map((it) => ({
        label: it.name,
        description: block.name,
        thing: `${block.name}/${it.name}`,
        here: cursor !== undefined && it.range.contains(cursor),
      })),
    );
    const wanted = [...things.filter((it) => it.here), all, ...things.filter((it) => !it.here)];
    const chosen = await vscode.window.showQuickPick(wanted, { placeHolder: "Whose workings?", matchOnDescription: true });
    if (!chosen) return;
    const title = `Workings of ${chosen.thing ? chosen.label : name(design)}.txt`;
    await this.show(title, { command: "hypocaust.workings", given: [uri, chosen.thing] });
  }

  /** Asks which of the rules that found something; those at the cursor come first. */
  async openGuidance(design: vscode.TextDocument): Promise<void> {
    const uri = design.uri.toString();
    const line = vscode.window.activeTextEditor?.selection.active.line;
    const found = vscode.languages.getDiagnostics(design.uri).filter((it) => it.source === "hypocaust");
    const here = found.filter((it) => line !== undefined && it.range.start.line <= line && line <= it.range.end.line);
    const sentences = new Map<string, string>();
    for (const it of [...here, ...found]) {
      const rule = String(typeof it.code === "object" ? it.code.value : it.code);
      if (!sentences.has(rule)) sentences.set(rule, it.message);
    }
    const rules = [...sentences].map(([label, detail]) => ({ label, detail }));
    const chosen = await vscode.window.showQuickPick(rules, { placeHolder: "Which rule?", matchOnDetail: true });
    if (!chosen) return;
    const page = address(`${chosen.label}.md`, { command: "hypocaust.guidance", given: [chosen.label, uri] });
    await vscode.commands.executeCommand("markdown.showPreviewToSide", page);
  }

  async provideTextDocumentContent(uri: vscode.Uri): Promise<string> {
    const { command, given } = JSON.parse(uri.query) as Shown;
    try {
      return await this.checker.ask<string>(command, ...given);
    } catch (error) {
      return String(error instanceof Error ? error.message : error);
    }
  }

  dispose(): void {
    clearTimeout(this.timer);
    this.parts.forEach((it) => it.dispose());
  }

  private async show(title: string, shown: Shown): Promise<void> {
    const document = await vscode.workspace.openTextDocument(address(title, shown));
    await vscode.window.showTextDocument(document, { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true, preview: false });
  }

  private refreshSoon(): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      const shown = vscode.workspace.textDocuments.filter((it) => it.uri.scheme === SCHEME);
      shown.forEach((it) => this.changed.fire(it.uri));
    }, REST);
  }
}

/** The blocks of a design with what stands in them. */
export async function symbols(design: vscode.TextDocument): Promise<vscode.DocumentSymbol[]> {
  return (await vscode.commands.executeCommand("vscode.executeDocumentSymbolProvider", design.uri)) ?? [];
}

export function name(design: vscode.TextDocument): string {
  const file = design.uri.path.split("/").pop() ?? "design";
  return file.replace(/(\.ufh)?\.yaml$/, "");
}

function address(title: string, shown: Shown): vscode.Uri {
  return vscode.Uri.from({ scheme: SCHEME, path: `/${title}`, query: JSON.stringify(shown) });
}
