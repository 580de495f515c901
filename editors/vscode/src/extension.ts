// Starts the checker, and shows what it gives: findings through the language client, plans, schedules, workings and guidance
// as documents. It knows no rule and no figure.

import * as vscode from "vscode";
import { Checker } from "./checker";
import { Documents } from "./documents";
import { Plan } from "./plan";
import { Status } from "./status";

export const LANGUAGE = "underfloor-heating";

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  const checker = new Checker();
  const documents = new Documents(checker);
  const plan = new Plan(checker, context.extensionUri);
  const status = new Status(checker);

  // What the text above the first line calls gives the URI of its design; all else is about the design in front.
  const ofDesign = (act: (design: vscode.TextDocument) => Promise<unknown>) => async (given?: unknown) => {
    const uri = typeof given === "string" ? vscode.Uri.parse(given) : given instanceof vscode.Uri ? given : undefined;
    try {
      const front = vscode.window.activeTextEditor?.document;
      const design = uri ? await vscode.workspace.openTextDocument(uri) : front;
      if (design?.languageId !== LANGUAGE) {
        throw new Error("open a design first, a file whose name ends with .ufh.yaml");
      }
      await act(design);
    } catch (error) {
      vscode.window.showErrorMessage(String(error instanceof Error ? error.message : error));
    }
  };
  const commands: Record<string, (...given: unknown[]) => unknown> = {
    "hypocaust.check": ofDesign(async (design) => {
      const sentence = await checker.ask<string>("hypocaust.check", design.uri.toString());
      vscode.window.setStatusBarMessage(sentence, 10_000);
      await vscode.commands.executeCommand("workbench.actions.view.problems");
    }),
    "hypocaust.openPlan": ofDesign((design) => plan.open(design)),
    "hypocaust.openSchedule": ofDesign((design) => documents.openSchedule(design)),
    "hypocaust.openWorkings": ofDesign((design) => documents.openWorkings(design)),
    "hypocaust.openGuidance": ofDesign((design) => documents.openGuidance(design)),
    "hypocaust.restart": () => checker.restart(),
    "hypocaust.showLog": () => checker.log.show(),
  };
  for (const [name, act] of Object.entries(commands)) {
    context.subscriptions.push(vscode.commands.registerCommand(name, act));
  }
  context.subscriptions.push(checker, documents, plan, status);
  context.subscriptions.push(
    vscode.workspace.onDidChangeConfiguration((change) => {
      if (change.affectsConfiguration("hypocaust.path")) void checker.restart();
    }),
  );
  await checker.restart();
}
