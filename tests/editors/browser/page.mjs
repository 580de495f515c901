// An editor in a page, with what its language client offers.

import { languageServerExtensions, LSPClient } from "@codemirror/lsp-client";
import { yaml } from "@codemirror/lang-yaml";
import { basicSetup, EditorView } from "codemirror";

const { uri, text } = await (await fetch("design")).json();
const socket = new WebSocket(`ws://${location.host}/server`);
await new Promise((resolve, reject) => {
  socket.onopen = resolve;
  socket.onerror = reject;
});
const hearers = new Set();
socket.onmessage = ({ data }) => hearers.forEach((hear) => hear(data));
const client = new LSPClient({ extensions: languageServerExtensions(), timeout: 30_000 }).connect({
  send: (message) => socket.send(message),
  subscribe: (hear) => hearers.add(hear),
  unsubscribe: (hear) => hearers.delete(hear),
});
await client.initializing;
window.view = new EditorView({
  doc: text,
  extensions: [basicSetup, yaml(), client.plugin(uri, "yaml")],
  parent: document.body,
});
