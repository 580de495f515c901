// The program, as a language server.

import { execFile } from "node:child_process";
import { homedir } from "node:os";
import * as vscode from "vscode";
import { ExecuteCommandRequest, LanguageClient, State } from "vscode-languageclient/node";
import { LANGUAGE } from "./extension";

/** Commands that the server would carry out by opening files, and that this extension carries out better. */
const OWN_COMMANDS = ["hypocaust.check", "hypocaust.openPlan", "hypocaust.openSchedule"];

export type Running = { version: string } | { reason: string } | "starting";

export class Checker implements vscode.Disposable {
  readonly log = vscode.window.createOutputChannel("Underfloor Heating");
  running: Running = "starting";
  private readonly changed = new vscode.EventEmitter<void>();
  readonly onDidChange = this.changed.event;
  private client: LanguageClient | undefined;
  /** Starts and stops wait for each other. */
  private turn: Promise<void> = Promise.resolve();

  restart(): Promise<void> {
    const old = this.client;
    this.client = undefined;
    this.turn = this.turn.then(async () => {
      await stop(old);
      await stop(this.client);
      await this.start();
    });
    return this.turn;
  }

  /** Has the server carry out a command; its reason, if it cannot. */
  async ask<Answer>(command: string, ...given: unknown[]): Promise<Answer> {
    await this.turn;
    if (!this.client?.isRunning()) {
      throw new Error("the checker does not run");
    }
    return this.client.sendRequest(ExecuteCommandRequest.type, { command, arguments: given });
  }

  dispose(): void {
    this.turn = this.turn.then(() => stop(this.client));
    this.log.dispose();
  }

  private async start(): Promise<void> {
    this.tell("starting");
    const program = programPath();
    try {
      const version = await versionOf(program);
      const client: LanguageClient = new LanguageClient(
        "hypocaust",
        "Underfloor Heating",
        { command: program, args: ["language-server"] },
        {
          documentSelector: [{ language: LANGUAGE }],
          initializationOptions: { commands: OWN_COMMANDS },
          outputChannel: this.log,
          // One that is about to be stopped need not hear why.
          middleware: {
            workspace: { didChangeConfiguration: async (sections, next) => (this.client === client ? next(sections) : undefined) },
          },
        },
      );
      this.client = client;
      client.onDidChangeState(({ newState }) => {
        if (this.client !== client) return;
        if (newState === State.Running) this.tell({ version });
        if (newState === State.Stopped) this.tell({ reason: "the checker has ended" });
      });
      await client.start();
    } catch (error) {
      const reason = String(error instanceof Error ? error.message : error);
      this.log.appendLine(reason);
      this.tell({ reason });
      void this.offerHelp(reason);
    }
  }

  private async offerHelp(reason: string): Promise<void> {
    const [settings, help] = ["Tell where it is", "How to install it"];
    const chosen = await vscode.window.showErrorMessage(reason, settings, help);
    if (chosen === settings) await vscode.commands.executeCommand("workbench.action.openSettings", "hypocaust.path");
    if (chosen === help) await vscode.commands.executeCommand("workbench.action.openWalkthrough", "hypocaust.hypocaust#begin");
  }

  private tell(running: Running): void {
    this.running = running;
    const runs = typeof running === "object" && "version" in running;
    void vscode.commands.executeCommand("setContext", "hypocaust.running", runs);
    this.changed.fire();
  }
}

async function stop(client: LanguageClient | undefined): Promise<void> {
  try {
    await client?.dispose();
  } catch {
    // One that has died by itself cannot be asked to end.
  }
}

function programPath(): string {
  const path = vscode.workspace.getConfiguration("hypocaust").get<string>("path")?.trim() || "hypocaust";
  return path.startsWith("~/") ? homedir() + path.slice(1) : path;
}

/** What the program calls itself; a program that is not there, or is another one, is told by name. */
function versionOf(program: string): Promise<string> {
  return new Promise((resolve, reject) => {
    execFile(program, ["--version"], { timeout: 10_000 }, (error, out) => {
      if (error && "code" in error && error.code === "ENOENT") {
        reject(new Error(`there is no program ${program}: install hypocaust, or tell where it is`));
      } else if (error || !out.startsWith("hypocaust ")) {
        reject(new Error(`${program} does not answer as hypocaust does${error ? `: ${error.message}` : ""}`));
      } else {
        resolve(out.trim());
      }
    });
  });
}
