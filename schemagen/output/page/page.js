"use strict";
// What the page does. Nothing here writes markup: words of the list only ever become text.

const SVG = "http://www.w3.org/2000/svg";
const REACH = 22; // screen pixels within which a pipe or part is hit
const CLOSEST = 12; // most times the size at which the whole drawing shows

const data = JSON.parse(document.getElementById("data").textContent);
const root = document.documentElement;
const stage = document.getElementById("stage");
const picture = document.getElementById("picture");
const details = document.getElementById("details");
const account = document.getElementById("account");
const calm = matchMedia("(prefers-reduced-motion: reduce)");

// Items are what can be walked to: every part, then every pipe.

const items = [
  ...data.parts.map((part, n) => ({ sort: "part", n, part, element: document.getElementById(`part-${n}`), ends: [] })),
  ...data.pipes.map((pipe, n) => ({ sort: "pipe", n, pipe, element: document.getElementById(`pipe-${n}`) })),
];
const parts = items.slice(0, data.parts.length);
const pipes = items.slice(data.parts.length);
for (const pipe of pipes) {
  for (const n of new Set(pipe.pipe.parts)) if (n >= 0) parts[n].ends.push(pipe);
}
const itemOf = new Map(items.map((item) => [item.element, item]));
const arrows = [...picture.querySelectorAll(".arrow")];
const subjects = new Map([...parts.map((i) => [i.part.tag, [i]])]);
for (const pipe of pipes) subjects.set(pipe.pipe.name, [...(subjects.get(pipe.pipe.name) ?? []), pipe]);

const view = { zoom: 1, x: 0, y: 0 };
let state = null; // place in data.states, null for the drawing as listed
let shown = new Set(data.sections.map((s) => s.section));
let step = 0; // steps of the build-up that are shown, 0 when it is not going on
let here = null; // the item with the focus
let from = null; // the part from which a pipe was walked onto
let found = null; // the finding that is shown
let trail = []; // items that Esc goes back to

// Small helpers

function make(name, text, attributes = {}) {
  const element = document.createElement(name);
  if (text) element.textContent = text;
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return element;
}

function button(text, action) {
  const element = make("button", text, { type: "button" });
  element.addEventListener("click", action);
  return element;
}

const capital = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);

function moves(pipe) {
  if (state === null) return pipe.pipe.carries ? "f" : ".";
  return data.states[state].moves[pipe.n];
}

function upstream(pipe) {
  const [start, end] = pipe.pipe.parts.map((n) => parts[n]);
  return moves(pipe) === "b" ? end : start;
}

function downstream(pipe) {
  const [start, end] = pipe.pipe.parts.map((n) => parts[n]);
  return moves(pipe) === "b" ? start : end;
}

function position(part) {
  if (state === null) return "";
  return data.states[state].positions.find(([n]) => n === part.n)?.[1] ?? "";
}

// Zoom and pan. The picture is moved and scaled as a whole; printing takes no notice of it.

function place() {
  const { clientWidth: w, clientHeight: h } = stage;
  view.zoom = Math.min(Math.max(view.zoom, 1), CLOSEST);
  view.x = Math.min(0, Math.max(view.x, w - w * view.zoom));
  view.y = Math.min(0, Math.max(view.y, h - h * view.zoom));
  picture.style.transform = view.zoom === 1 ? "" : `translate(${view.x}px, ${view.y}px) scale(${view.zoom})`;
  picture.style.setProperty("--zoom", view.zoom);
  stage.classList.toggle("closer", view.zoom > 1);
}

function zoomBy(factor, clientX, clientY) {
  const box = stage.getBoundingClientRect();
  const x = (clientX ?? box.left + box.width / 2) - box.left;
  const y = (clientY ?? box.top + box.height / 2) - box.top;
  const zoom = Math.min(Math.max(view.zoom * factor, 1), CLOSEST);
  view.x = x - ((x - view.x) * zoom) / view.zoom;
  view.y = y - ((y - view.y) * zoom) / view.zoom;
  view.zoom = zoom;
  place();
}

function pan(x, y) {
  view.x += x;
  view.y += y;
  place();
}

const VIEWS = {
  in: () => zoomBy(1.4),
  out: () => zoomBy(1 / 1.4),
  fit: () => { view.zoom = 1; place(); },
  left: () => pan(stage.clientWidth / 5, 0),
  right: () => pan(-stage.clientWidth / 5, 0),
  up: () => pan(0, stage.clientHeight / 5),
  down: () => pan(0, -stage.clientHeight / 5),
};
for (const control of document.querySelectorAll("[data-view]")) {
  control.addEventListener("click", () => VIEWS[control.dataset.view]());
}

stage.addEventListener("wheel", (event) => {
  const closer = event.deltaY < 0;
  if (view.zoom === 1 && (!closer || (scrollY > 0 && !event.ctrlKey))) return;
  event.preventDefault();
  zoomBy(Math.exp(-Math.max(-60, Math.min(60, event.deltaY)) / 250), event.clientX, event.clientY);
}, { passive: false });

const touches = new Map();
let dragged = false;

stage.addEventListener("pointerdown", (event) => {
  touches.set(event.pointerId, { x: event.clientX, y: event.clientY });
  if (touches.size === 1) dragged = false;
});

addEventListener("pointermove", (event) => {
  const last = touches.get(event.pointerId);
  if (!last) return;
  const dx = event.clientX - last.x;
  const dy = event.clientY - last.y;
  const still = Math.hypot(dx, dy) < 4 && !dragged;
  if (touches.size === 1 && (view.zoom === 1 || still)) return;
  dragged = true;
  stage.classList.add("held");
  if (touches.size === 1) pan(dx, dy);
  if (touches.size === 2) {
    const other = [...touches].find(([id]) => id !== event.pointerId)[1];
    const before = Math.hypot(last.x - other.x, last.y - other.y);
    const after = Math.hypot(event.clientX - other.x, event.clientY - other.y);
    pan(dx / 2, dy / 2);
    if (before > 0) zoomBy(after / before, (event.clientX + other.x) / 2, (event.clientY + other.y) / 2);
  }
  touches.set(event.pointerId, { x: event.clientX, y: event.clientY });
});

for (const name of ["pointerup", "pointercancel"]) {
  addEventListener(name, (event) => {
    touches.delete(event.pointerId);
    if (touches.size === 0) stage.classList.remove("held");
  });
}

function scale() {
  const box = picture.getBoundingClientRect();
  const { width, height } = picture.viewBox.baseVal;
  const size = Math.min(box.width / width, box.height / height);
  return { size, left: box.left + (box.width - size * width) / 2, top: box.top + (box.height - size * height) / 2 };
}

function boxOf(item) {
  item.box ??= (item.sort === "part" ? item.element.querySelector(".body") : item.element).getBBox();
  return item.box;
}

function bring(item) {
  if (view.zoom === 1) return;
  const { size, left, top } = scale();
  const box = boxOf(item);
  const stageBox = stage.getBoundingClientRect();
  const x = left + (box.x + box.width / 2) * size - stageBox.left;
  const y = top + (box.y + box.height / 2) * size - stageBox.top;
  const inside = x > 40 && y > 40 && x < stageBox.width - 40 && y < stageBox.height - 40;
  if (!inside) pan(stageBox.width / 2 - x, stageBox.height / 2 - y);
}

// What lies under the pointer: the nearest part or pipe within reach, so that thin lines can be hit with a thumb.

function distance(item, x, y) {
  if (item.sort === "part") {
    const { x: left, y: top, width, height } = boxOf(item);
    return Math.hypot(Math.max(left - x, 0, x - left - width), Math.max(top - y, 0, y - top - height)) - 0.5;
  }
  return Math.min(...runs(item).map(([a, b]) => {
    const nearX = Math.max(Math.min(a[0], b[0]), Math.min(Math.max(a[0], b[0]), x));
    const nearY = Math.max(Math.min(a[1], b[1]), Math.min(Math.max(a[1], b[1]), y));
    return Math.hypot(nearX - x, nearY - y);
  }));
}

function runs(pipe) {
  if (!pipe.runs) {
    const points = [];
    for (const [, command, rest] of pipe.element.getAttribute("d").matchAll(/([MHVLA])([^MHVLA]*)/g)) {
      const numbers = rest.trim().split(/[ ,]+/).map(Number);
      const [x, y] = points.at(-1) ?? [0, 0];
      if (command === "H") points.push([numbers[0], y]);
      else if (command === "V") points.push([x, numbers[0]]);
      else points.push(numbers.slice(-2));
    }
    pipe.runs = points.slice(1).map((point, n) => [points[n], point]);
  }
  return pipe.runs;
}

function under(event) {
  const { size, left, top } = scale();
  const x = (event.clientX - left) / size;
  const y = (event.clientY - top) / size;
  let best = null;
  let least = (event.pointerType === "mouse" ? REACH / 2 : REACH) / size;
  for (const item of items) {
    const far = distance(item, x, y);
    if (far < least) [best, least] = [item, far];
  }
  return best;
}

stage.addEventListener("pointermove", (event) => {
  if (event.pointerType !== "mouse" || touches.size) return;
  const item = under(event);
  stage.style.cursor = item ? "pointer" : "";
  look(item ?? here);
});
stage.addEventListener("pointerleave", () => look(here));

stage.addEventListener("click", (event) => {
  if (dragged) return;
  const mark = event.target.closest(".finding");
  if (mark) return tell(Number(mark.dataset.number));
  const item = event.detail === 0 ? itemOf.get(event.target.closest(".part, .pipe")) : under(event);
  if (item) go(item);
});

// Walking. One item has tabindex 0; it is the one that the Tab key comes back to.

function reveal() {
  const box = stage.getBoundingClientRect();
  if (box.top < 0 || box.bottom > innerHeight) stage.scrollIntoView({ block: box.height < innerHeight ? "center" : "start" });
}

function go(item, { back = false } = {}) {
  if (here && here !== item && !back) trail.push(here);
  if (item.sort === "part") from = item;
  found = null;
  settle(item);
  item.element.focus({ preventScroll: true });
  bring(item);
}

function settle(item) {
  for (const other of items) other.element.setAttribute("tabindex", "-1");
  item.element.setAttribute("tabindex", "0");
  here = item;
  look(item);
}

picture.addEventListener("focusin", (event) => {
  const item = itemOf.get(event.target);
  if (item && item !== here) settle(item);
  if (item) look(item);
});

const firstSource = () =>
  parts[data.first[0]] ?? parts.find((p) => p.ends.some((pipe) => upstream(pipe) === p)) ?? parts[0] ?? null;

function along(item, way) {
  if (item.sort === "pipe") return way > 0 ? downstream(item) : upstream(item);
  const side = item.ends.filter((pipe) => (way > 0 ? upstream(pipe) : downstream(pipe)) === item);
  return side.find((pipe) => moves(pipe) !== ".") ?? side[0];
}

function across(item, way) {
  const ring = item.sort === "part" ? parts : (from?.ends.includes(item) ? from : upstream(item) ?? downstream(item)).ends;
  return ring[(ring.indexOf(item) + way + ring.length) % ring.length];
}

const WALKS = {
  ArrowRight: () => along(here, 1),
  ArrowLeft: () => along(here, -1),
  ArrowDown: () => across(here, 1),
  ArrowUp: () => across(here, -1),
  Home: firstSource,
  End: () => parts.at(-1),
  Escape: () => trail.pop(),
};
const PANS = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" };
const SIGNS = { "+": "in", "=": "in", "-": "out", f: "fit", F: "fit" };

stage.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || !here) return;
  if (event.shiftKey && PANS[event.key]) VIEWS[PANS[event.key]]();
  else if (WALKS[event.key]) {
    const item = WALKS[event.key]();
    if (item) go(item, { back: event.key === "Escape" });
  } else if (event.key === "Enter" || event.key === " ") document.getElementById("details-title").focus();
  else if (SIGNS[event.key]) VIEWS[SIGNS[event.key]]();
  else if (event.key === "b" || event.key === "B") build(step + 1);
  else if (/^\d$/.test(event.key)) choose(event.key === "0" ? null : Number(event.key) - 1);
  else return;
  event.preventDefault();
});

details.parentElement.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && here) go(here, { back: true });
});

// Details of an item, and rings round it and its neighbours

const rings = document.createElementNS(SVG, "g");
rings.id = "rings";
rings.setAttribute("aria-hidden", "true");
const ringOf = Object.fromEntries(["beside", "halo", "frame", "tube", "core"].map((name) => {
  const path = document.createElementNS(SVG, "path");
  path.setAttribute("class", name);
  rings.append(path);
  return [name, path];
}));
picture.insertBefore(rings, picture.querySelector(".section"));

function outline(item) {
  if (item.sort === "pipe") return item.element.getAttribute("d");
  const { x, y, width, height } = boxOf(item);
  return `M${x - 1} ${y - 1}H${x + width + 1}V${y + height + 1}H${x - 1}Z`;
}

function neighbours(item) {
  if (item.sort === "pipe") return item.pipe.parts.filter((n) => n >= 0).map((n) => parts[n]);
  const far = item.ends.map((pipe) => otherEnd(pipe, item)).filter(Boolean);
  return [...far, ...item.part.near.map((n) => parts[n])];
}

let looked;

function look(item) {
  const shownNow = found === null ? (item ? [item] : []) : itemsOf(found);
  const outlines = (sort) => shownNow.filter((i) => i.sort === sort).map(outline).join("");
  for (const name of ["halo", "frame"]) ringOf[name].setAttribute("d", outlines("part"));
  for (const name of ["tube", "core"]) ringOf[name].setAttribute("d", outlines("pipe"));
  const beside = item && found === null ? neighbours(item).filter((i) => i.sort === "part") : [];
  ringOf.beside.setAttribute("d", beside.map(outline).join(""));
  if (item && item !== looked) describe(item);
  looked = item;
}

function describe(item) {
  const title = make("h3", item.sort === "part" ? item.part.title : capital(item.pipe.title));
  details.replaceChildren(title, facts(item.sort === "part" ? partFacts(item) : pipeFacts(item)));
  const finds = item.sort === "part"
    ? item.part.findings
    : data.findings.filter((f) => f.pipes.includes(item.n)).map((f) => f.number);
  if (item.sort === "part") {
    const ways = item.ends.map((pipe) => [upstream(pipe) === item ? "Downstream" : "Upstream", pipe]);
    for (const name of ["Upstream", "Downstream"]) {
      links(name, ways.filter(([way]) => way === name).flatMap(([, pipe]) => [pipe, otherEnd(pipe, item)]));
    }
    links("Joined without a pipe", item.part.near.map((n) => parts[n]));
  } else links("Ends", neighbours(item));
  if (finds.length) {
    details.append(make("h4", "Findings here"), row(finds.map((n) => button(`Finding ${n}`, () => entry(n)))));
  }
}

const otherEnd = (pipe, part) => (upstream(pipe) === part ? downstream(pipe) : upstream(pipe));

function partFacts({ part, n }) {
  const stands = position(parts[n]);
  return [["Kind", capital(part.name)], ...part.facts, ...(stands ? [["In this state", stands]] : [])];
}

function pipeFacts(item) {
  const { pipe } = item;
  const water = { f: "moves as listed", b: "moves against the listed direction", ".": "stands still" }[moves(item)];
  return [
    ["Section", capital(pipe.sectionName)],
    ["Size", pipe.size || "not listed"],
    ["Medium", pipe.medium || "not known"],
    ["From", pipe.from],
    ["To", pipe.to],
    [state === null ? "Water as listed" : "Water in this state", state === null && water !== "stands still" ? "moves" : water],
  ];
}

function facts(pairs) {
  const list = make("dl");
  for (const [name, text] of pairs) {
    const pair = make("div");
    pair.append(make("dt", name), make("dd", text));
    list.append(pair);
  }
  return list;
}

function row(buttons) {
  const line = make("p", "", { class: "row" });
  line.append(...buttons);
  return line;
}

function links(name, targets) {
  const known = [...new Set(targets.filter(Boolean))];
  if (!known.length) return;
  const buttons = known.map((item) => {
    const text = item.sort === "part" ? `${item.part.tag}, ${item.part.name}` : `Pipe ${item.pipe.from} to ${item.pipe.to}`;
    return button(text, () => { reveal(); go(item); });
  });
  details.append(make("h4", name), row(buttons));
}

for (const link of document.querySelectorAll('a[href^="#part-"], a[href^="#pipe-"]')) {
  link.addEventListener("click", (event) => {
    event.preventDefault();
    reveal();
    go(itemOf.get(document.getElementById(link.hash.slice(1))));
  });
}

// Findings

function itemsOf(number) {
  const finding = data.findings[number - 1];
  return [...finding.parts.map((n) => parts[n]), ...finding.pipes.map((n) => pipes[n])];
}

function tell(number) {
  const targets = itemsOf(number);
  reveal();
  if (!targets.length) return entry(number);
  const pipe = targets.find((item) => item.sort === "pipe");
  if (view.zoom < 2) view.zoom = Math.min(2.4, CLOSEST);
  place();
  go(pipe ?? targets[0]);
  found = number;
  look(here);
  centre(here);
  say(data.findings[number - 1].said);
}

function centre(item) {
  const { size, left, top } = scale();
  const box = boxOf(item);
  const stageBox = stage.getBoundingClientRect();
  pan(
    stageBox.left + stageBox.width / 2 - left - (box.x + box.width / 2) * size,
    stageBox.top + stageBox.height / 2 - top - (box.y + box.height / 2) * size,
  );
}

function entry(number) {
  document.getElementById(`finding-${number}`).focus();
}

for (const control of document.querySelectorAll("[data-finding]")) {
  control.addEventListener("click", () => tell(Number(control.dataset.finding)));
}

// States

function choose(n) {
  if (n !== null && !data.states[n]) return;
  state = n;
  for (const radio of document.querySelectorAll('input[name="state"]')) radio.checked = radio.value === String(n ?? "plain");
  picture.classList.toggle("in-state", n !== null);
  for (const ink of picture.querySelectorAll("[data-states]")) {
    ink.classList.toggle("off", !ink.dataset.states.split(" ").includes(String(n ?? "plain")));
  }
  for (const pipe of pipes) {
    const word = n === null ? null : { f: "forward", b: "backward", ".": "still" }[moves(pipe)];
    if (word) pipe.element.dataset.moves = word;
    else delete pipe.element.dataset.moves;
  }
  for (const arrow of arrows) {
    const way = n === null ? "f" : moves((subjects.get(arrow.dataset.pipe) ?? [])[0]);
    arrow.classList.toggle("still", way === ".");
    arrow.classList.toggle("back", way === "b");
  }
  for (const part of parts) {
    const stands = position(part);
    part.element.setAttribute("aria-label", stands ? `${part.part.title}, ${stands}` : part.part.title);
  }
  flows();
  looked = null;
  look(here);
  const near = document.getElementById("account-near");
  if (near) near.textContent = n === null ? "" : data.states[n].account;
  say(n === null ? "" : stateSaid(data.states[n]));
}

function stateSaid(chosen) {
  const moving = [...chosen.moves].filter((m) => m !== ".").length;
  return `${chosen.name}. ${chosen.account} Water moves in ${moving} of ${pipes.length} pipes.`;
}

function say(text) {
  account.textContent = text || "As listed: arrows show the way the water is meant to move.";
}

for (const radio of document.querySelectorAll('input[name="state"]')) {
  radio.addEventListener("change", () => choose(radio.value === "plain" ? null : Number(radio.value)));
}

for (const control of document.querySelectorAll("[data-state]")) {
  control.addEventListener("click", () => { choose(Number(control.dataset.state)); reveal(); });
}

// Sections and the build-up

function show(sections) {
  shown = sections;
  for (const box of document.querySelectorAll('input[name="section"]')) box.checked = shown.has(box.value);
  const visible = (item) =>
    item.sort === "pipe" ? shown.has(item.pipe.section) : !item.ends.length || item.ends.some((p) => shown.has(p.pipe.section));
  for (const item of items) item.element.classList.toggle("faint", !visible(item));
  for (const element of [...arrows, ...picture.querySelectorAll("[data-label-for]")]) {
    const about = subjects.get(element.dataset.pipe ?? element.dataset.labelFor) ?? [];
    element.classList.toggle("faint", about.length > 0 && !about.some(visible));
  }
  flows();
}

function build(n) {
  const count = data.sections.length;
  if (!count) return;
  step = n > count ? 0 : Math.max(n, 0);
  const some = step === 0 ? data.sections : data.sections.slice(0, step);
  show(new Set(some.map((s) => s.section)));
  const now = data.sections[step - 1];
  for (const pipe of pipes) pipe.element.classList.toggle("now", Boolean(now) && pipe.pipe.section === now.section);
  document.getElementById("step").textContent = now
    ? `Step ${step} of ${count}, ${now.name}: ${now.purpose}`
    : `Build the drawing up, one section at a time: ${count} ${count === 1 ? "step" : "steps"}.`;
  for (const control of document.querySelectorAll('[data-step="back"], [data-step="all"]')) control.disabled = step === 0;
}

const STEPS = { back: () => build(step - 1), on: () => build(step + 1), all: () => build(0) };
for (const control of document.querySelectorAll("[data-step]")) {
  control.addEventListener("click", () => STEPS[control.dataset.step]());
}
for (const box of document.querySelectorAll('input[name="section"]')) {
  box.addEventListener("change", () => {
    const sections = new Set(shown);
    if (box.checked) sections.add(box.value);
    else sections.delete(box.value);
    show(sections);
  });
}

// Animated flow: dots that run along the pipes; where less motion is asked for, moving pipes are drawn wider instead

const flowing = document.createElementNS(SVG, "g");
flowing.id = "flows";
flowing.setAttribute("aria-hidden", "true");
picture.insertBefore(flowing, picture.querySelector(".labels"));
const flowControl = document.getElementById("flow");

function flows() {
  const on = flowControl.getAttribute("aria-pressed") === "true";
  stage.classList.toggle("flowing", on);
  flowControl.textContent = calm.matches
    ? (on ? "Plain pipes" : "Mark moving water")
    : (on ? "Pause the flow" : "Animate the flow");
  document.getElementById("motion").textContent = on && calm.matches
    ? "Less motion is asked for on this device: pipes in which water moves are drawn wider instead." : "";
  flowing.replaceChildren(...(on ? pipes.filter((p) => moves(p) !== "." && shown.has(p.pipe.section)) : []).map((pipe) => {
    const path = document.createElementNS(SVG, "path");
    path.setAttribute("d", pipe.element.getAttribute("d"));
    path.setAttribute("class", moves(pipe) === "b" ? "back" : "on");
    return path;
  }));
}

flowControl.addEventListener("click", () => {
  flowControl.setAttribute("aria-pressed", String(flowControl.getAttribute("aria-pressed") !== "true"));
  flows();
});
calm.addEventListener("change", flows);
addEventListener("resize", place);

root.classList.add("live");
const first = firstSource();
if (first) first.element.setAttribute("tabindex", "0");
here = null;
choose(null);
build(0);
place();
