// The page of the plan: shows the drawing of one storey, and tells what was clicked on it.

// @ts-ignore what the editor gives its pages
const editor = acquireVsCodeApi();
const element = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById(id));
const [storeys, sheet, said] = [element("storeys"), element("sheet"), element("said")];

/** @type {{storey: string | null, svg: string}[]} */
let plans = [];
/** @type {string | null | undefined} */
let wanted = editor.getState()?.storey;
let zoom = 1;

window.addEventListener("message", ({ data }) => {
  if (data.reason !== undefined) {
    said.textContent = data.reason;
    return;
  }
  plans = data.plans;
  const missing = data.without.length > 0 ? `not drawn, for want of outlines: ${data.without.join(", ")}` : "";
  said.textContent = plans.length > 0 ? missing : "There is nothing to draw yet: no room has an outline, and no loop a route.";
  show();
});

function show() {
  const shown = plans.find((it) => it.storey === wanted) ?? plans[0];
  storeys.replaceChildren(
    ...(plans.length < 2 ? [] : plans).map((plan) => {
      const button = document.createElement("button");
      button.textContent = plan.storey ?? "without a storey";
      button.setAttribute("aria-pressed", String(plan === shown));
      button.addEventListener("click", () => {
        wanted = plan.storey;
        editor.setState({ storey: wanted });
        show();
      });
      return button;
    }),
  );
  element("zoom").hidden = shown === undefined;
  if (shown === undefined) {
    sheet.replaceChildren();
    return;
  }
  const drawing = new DOMParser().parseFromString(shown.svg, "image/svg+xml").documentElement;
  if (drawing.nodeName !== "svg") {
    said.textContent = "the drawing cannot be shown";
    return;
  }
  // The window says how large it is; the drawing keeps its proportions.
  drawing.removeAttribute("width");
  drawing.removeAttribute("height");
  const [left, top] = [sheet.scrollLeft, sheet.scrollTop];
  sheet.replaceChildren(document.importNode(drawing, true));
  resize();
  sheet.scrollTo(left, top);
}

function resize() {
  const drawing = sheet.firstElementChild;
  if (drawing instanceof SVGElement) drawing.style.width = `${zoom * 100}%`;
}

function zoomTo(/** @type {number} */ factor) {
  const middle = (sheet.scrollLeft + sheet.clientWidth / 2) / zoom;
  const centre = (sheet.scrollTop + sheet.clientHeight / 2) / zoom;
  zoom = Math.min(16, Math.max(1, factor));
  resize();
  sheet.scrollTo(middle * zoom - sheet.clientWidth / 2, centre * zoom - sheet.clientHeight / 2);
}

element("in").addEventListener("click", () => zoomTo(zoom * 1.5));
element("out").addEventListener("click", () => zoomTo(zoom / 1.5));
element("fit").addEventListener("click", () => zoomTo(1));
sheet.addEventListener("wheel", (event) => {
  if (!event.ctrlKey) return;
  event.preventDefault();
  zoomTo(event.deltaY < 0 ? zoom * 1.2 : zoom / 1.2);
}, { passive: false });
sheet.addEventListener("click", ({ target }) => {
  const thing = target instanceof Element ? target.closest("[data-kind]") : null;
  if (thing) editor.postMessage({ kind: thing.getAttribute("data-kind"), name: thing.getAttribute("data-name") });
});
editor.postMessage("ready");
