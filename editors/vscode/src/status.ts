// What the check says of the design in front, at the foot of the window.

import * as vscode from "vscode";
import type { Checker } from "./checker";
import { LANGUAGE } from "./extension";

export class Status implements vscode.Disposable {
  private readonly item = vscode.window.createStatusBarItem("hypocaust", vscode.StatusBarAlignment.Left, 50);
  private readonly parts: vscode.Disposable[];

  constructor(private readonly checker: Checker) {
    this.item.name = "Underfloor Heating";
    const show = () => this.show();
    this.parts = [
      checker.onDidChange(show),
      vscode.languages.onDidChangeDiagnostics(show),
      vscode.window.onDidChangeActiveTextEditor(show),
      this.item,
    ];
    this.show();
  }

  dispose(): void {
    this.parts.forEach((it) => it.dispose());
  }

  private show(): void {
    const design = vscode.window.activeTextEditor?.document;
    if (design?.languageId !== LANGUAGE) return this.item.hide();
    const running = this.checker.running;
    const [found, failed] = [new vscode.ThemeColor("statusBarItem.errorBackground"), undefined];
    if (running === "starting") {
      this.set("$(loading~spin) floor check", "the checker starts", "hypocaust.showLog", failed);
    } else if ("reason" in running) {
      this.set("$(error) floor check", `${running.reason}; click to try again`, "hypocaust.restart", found);
    } else {
      const severities = vscode.languages
        .getDiagnostics(design.uri)
        .filter((it) => it.source === "hypocaust")
        .map((it) => it.severity);
      const count = (severity: vscode.DiagnosticSeverity) => severities.filter((it) => it === severity).length;
      const words = [
        told(count(vscode.DiagnosticSeverity.Error), "error"),
        told(count(vscode.DiagnosticSeverity.Warning), "warning"),
      ].filter((it) => it !== "");
      const others = severities.length - severities.filter((it) => it <= vscode.DiagnosticSeverity.Warning).length;
      if (words.length === 0) words.push(others > 0 ? told(others, "remark") : "no findings");
      this.set(`floor check: ${words.join(", ")}`, `${running.version}; click for all findings`, "hypocaust.check", failed);
    }
  }

  private set(text: string, tooltip: string, command: string, colour: vscode.ThemeColor | undefined): void {
    Object.assign(this.item, { text, tooltip, command, backgroundColor: colour });
    this.item.show();
  }
}

function told(count: number, word: string): string {
  return count === 0 ? "" : `${count} ${word}${count === 1 ? "" : "s"}`;
}
