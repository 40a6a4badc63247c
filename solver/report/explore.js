"use strict";
// Everything that is computed: polynomials through solved points, see solver/explore/interpolation.py.

// Place of a value on its axis, from -1 to 1.
function placeOf(axis, value) {
  const part = axis.logarithmic
    ? Math.log(value / axis.low) / Math.log(axis.high / axis.low)
    : (value - axis.low) / (axis.high - axis.low);
  return 2 * part - 1;
}

// Functions of all nodes of one axis at a place: one at their node, zero at all earlier ones.
function hierarchical(nodes, x) {
  return nodes.map((node, number) => {
    let product = 1;
    for (let earlier = 0; earlier < number; earlier += 1) product *= (x - nodes[earlier]) / (node - nodes[earlier]);
    return product;
  });
}

// Every figure of a variant at values of the axes, in the units that are shown; null outside the solved box.
function readingsAt(data, variant, values) {
  const places = data.axes.map((axis, number) => placeOf(axis, values[number]));
  if (!places.every((place) => place >= -1 - 1e-9 && place <= 1 + 1e-9)) return null;
  const tables = places.map((place) => hierarchical(data.nodes, place));
  const basis = variant.indices.map((index) => index.reduce((product, n, axis) => product * tables[axis][n], 1));
  const sum = (row) => row.reduce((total, surplus, n) => total + surplus * basis[n], 0);
  return variant.figures.map((figure, number) => {
    const value = sum(variant.surpluses[2 * number]);
    const own = Math.max(0, sum(variant.surpluses[2 * number + 1]));
    const size = (figure.byRatios ? Math.exp(value) : value) / figure.scale;
    const part = figure.byRatios ? size : 1 / figure.scale;
    return { value: size, uncertainty: part * (own + figure.error), interpolation: part * figure.error };
  });
}

// The same digits as in every table of the program: down to the leading digit of the uncertainty.
function decimalsFor(value, error) {
  let finest = 3;
  if (value !== 0) finest = Math.max(finest, 2 - Math.floor(Math.log10(Math.abs(value))));
  if (!(error > 0)) return Math.min(finest, 9);
  const exponent = Math.floor(Math.log10(error * (1 + 1e-8)));
  const decimals = -exponent + (error < 2 * 10 ** exponent * (1 - 1e-8) ? 1 : 0);
  return Math.min(Math.max(0, decimals), finest);
}
const typeset = (text) => text.replace("-", "\u2212");
function withUncertainty(reading) {
  const decimals = decimalsFor(reading.value, reading.uncertainty);
  if (!(reading.uncertainty > 0)) return typeset(reading.value.toFixed(decimals));
  const error = Math.max(1, Math.ceil(reading.uncertainty * 10 ** decimals - 1e-8)) / 10 ** decimals;
  return `${typeset(reading.value.toFixed(decimals))} ± ${error.toFixed(decimals)}`;
}
function changeBetween(figure, before, after) {
  if (figure.decibels && before.value > 0 && after.value > 0) {
    const ratio = 20 * Math.log10(after.value / before.value);
    return `${ratio < 0 ? "\u2212" : "+"}${Math.abs(ratio).toFixed(1)} dB`;
  }
  const step = after.value - before.value;
  const size = Math.abs(step).toFixed(decimalsFor(after.value, after.uncertainty));
  return `${Number(size) === 0 ? "±" : step < 0 ? "\u2212" : "+"}${size} ${figure.unit}`.trim();
}
const isKept = (figure, value) => (figure.more ? value >= figure.limit : value <= figure.limit);
const shownValue = (axis, value) => `${Number(value.toPrecision(4))}${axis.unit ? ` ${axis.unit}` : ""}`;

// The scenario file of a state.
function scenarioText(data, variant, values) {
  return data.axes.reduce((text, axis, number) => {
    const value = Number(values[number].toPrecision(6));
    return axis.unit
      ? text.replaceAll(`@${number}@`, `${value} ${axis.unit}`)
      : text.replaceAll(`"@${number}@"`, axis.whole ? String(Math.round(value)) : String(value));
  }, variant.text);
}

// Corners of all conductors at values of the axes [mm].
function cornersAt(data, variant, values) {
  const steps = values.map((value, number) => (value - variant.today[number]) * data.axes[number].size);
  return variant.shape.regions.map((region) => ({
    role: region.role,
    corners: region.corners.map(([x, y], corner) =>
      steps.reduce((at, step, axis) => [at[0] + step * region.moves[axis][corner][0], at[1] + step * region.moves[axis][corner][1]], [x, y])),
  }));
}
const lengthAt = (data, variant, values) => values.reduce(
  (length, value, n) => length + (value - variant.today[n]) * data.axes[n].size * variant.shape.lengthens[n], variant.shape.length);

// The state as the address keeps it.
function stateText(state) {
  const pins = ["a", "b"].filter((pin) => state.pins[pin]).map((pin) => `${pin}=${codeOf(state.pins[pin])}`);
  return [`s=${codeOf(state.now)}`, ...pins, `c=${state.curve.join("~")}`].join("&");
}
const codeOf = (now) => [now.variant, ...now.values.map((value) => Number(value.toPrecision(6)))].join("~");
function stateOf(data, text) {
  const parts = Object.fromEntries(text.split("&").map((part) => part.split("=")));
  const read = (code) => {
    const numbers = (code ?? "").split("~").map(Number);
    const valid = numbers.length === data.axes.length + 1 && numbers.every(Number.isFinite) && data.variants[numbers[0]];
    return valid ? { variant: numbers[0], values: numbers.slice(1) } : null;
  };
  const curve = (parts.c ?? "").split("~").map(Number);
  const first = { variant: 0, values: [...data.variants[0].today] };
  return {
    now: read(parts.s) ?? first,
    pins: { a: read(parts.a), b: read(parts.b) },
    curve: curve.length === 2 && data.axes[curve[1]] && curve[0] >= 0 ? curve : [0, 0],
  };
}

// From here on: the page.
const SVG = "http://www.w3.org/2000/svg";
function drawn(name, attributes, text) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text !== undefined) element.textContent = text;
  return element;
}
function made(name, attributes, ...inside) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key in element && key !== "list") element[key] = value; else element.setAttribute(key, value);
  }
  element.append(...inside);
  return element;
}
const find = (id) => document.getElementById(id);

function startPage(data) {
  const reference = { variant: 0, values: data.variants[0].today };
  let state = stateOf(data, location.hash.slice(1));
  const inputs = data.axes.map((axis, number) => keyInput(axis, number));
  const chooser = made("select", { id: "variant" }, ...data.variants.map((each, n) => made("option", { value: n }, each.name)));
  find("keys").append(made("label", { htmlFor: "variant" }, "variant"), chooser, ...inputs.map((each) => each.row));
  chooser.addEventListener("change", () => move({ ...state.now, variant: Number(chooser.value) }));

  function keyInput(axis, number) {
    const shown = made("output", { htmlFor: `key-${number}` });
    const input = made("input", { type: "range", id: `key-${number}`, min: 0, max: 1000, step: 1 });
    input.addEventListener("input", () => {
      const part = Number(input.value) / 1000;
      const raw = axis.logarithmic ? axis.low * (axis.high / axis.low) ** part : axis.low + (axis.high - axis.low) * part;
      const value = axis.whole ? Math.round(raw) : Number(raw.toPrecision(4));
      const inside = Math.min(axis.high, Math.max(axis.low, value));
      move({ ...state.now, values: state.now.values.map((old, n) => (n === number ? inside : old)) });
    });
    const ends = made("div", { className: "ends" }, made("span", {}, shownValue(axis, axis.low)), made("span", {}, shownValue(axis, axis.high)));
    return { input, shown, row: made("div", {}, made("label", { htmlFor: `key-${number}`, title: axis.key }, axis.title, shown), input, ends) };
  }
  const readings = (now) => readingsAt(data, data.variants[now.variant], now.values);
  function move(now) {
    state = { ...state, now };
    history.replaceState(null, "", `#${stateText(state)}`);
    show();
  }

  function show() {
    const variant = data.variants[state.now.variant], now = readings(state.now);
    chooser.value = state.now.variant;
    data.axes.forEach((axis, n) => {
      const value = state.now.values[n];
      inputs[n].input.value = Math.round(500 * (placeOf(axis, value) + 1));
      inputs[n].shown.textContent = shownValue(axis, value);
      inputs[n].input.setAttribute("aria-valuetext", shownValue(axis, value));
    });
    find("outside").hidden = now !== null;
    find("outside").textContent = now ? "" : "This state lies outside the solved ranges of the keys: nothing is shown of it. Move a key, or go back to today.";
    find("said").textContent = now ? saidOf(variant, now) : "";
    showShapes(variant);
    showFigures(variant, now);
    showPins();
    showCurve(variant, now);
    for (const id of ["scenario", "scenario-label", "save"]) find(id).hidden = true;
    find("copy").disabled = !variant.text || !now;
  }
  function saidOf(variant, now) {
    const limited = variant.figures.map((figure, n) => [figure, now[n]]).filter(([figure]) => figure.limit !== null);
    const broken = limited.filter(([figure, each]) => !isKept(figure, each.value)).map(([figure]) => figure.title);
    const first = `${variant.name}: ${variant.figures[0].title} ${withUncertainty(now[0])} ${variant.figures[0].unit}`;
    if (!limited.length) return `${first}.`;
    return broken.length ? `${first}; over budget: ${broken.join(", ")}.` : `${first}; every budget kept.`;
  }

  function showFigures(variant, now) {
    const before = readings(reference);
    const names = data.variants[0].figures.map((figure) => figure.key);
    const rows = now ? variant.figures.map((figure, n) => {
      const old = before[names.indexOf(figure.key)], each = now[n];
      const budget = figure.limit === null ? "" : `${figure.more ? "≥" : "≤"} ${figure.limit} ${figure.unit}: ${isKept(figure, each.value) ? "kept" : "exceeded"}${Math.abs(each.value - figure.limit) <= each.uncertainty ? "?" : ""}`;
      return made("tr", { "data-key": figure.key, "data-value": each.value, "data-uncertainty": each.uncertainty },
        made("td", {}, `${figure.title}${figure.within ? "" : " *"}`),
        made("td", {}, `${withUncertainty(each)} ${figure.unit}`.trim()),
        made("td", {}, old ? withUncertainty(old) : "–"),
        made("td", {}, old ? changeBetween(figure, old, each) : "–"),
        made("td", { className: "words" }, track(variant, n, each, old)),
        made("td", { className: "words" }, budget),
        made("td", {}, Number(each.interpolation.toPrecision(1)).toString()));
    }) : [];
    find("figures").replaceChildren(...rows);
    const doubtful = variant.figures.filter((figure) => !figure.within).map((figure) => figure.title);
    find("doubt").textContent = doubtful.length && now
      ? `* The interpolation is coarser than the figure's own uncertainty: ${doubtful.join(", ")}. Its error stands in the ±.` : "";
  }
  const spans = new Map();
  function spanOf(variant, n) {
    const key = `${variant.name}\n${n}`;
    if (!spans.has(key)) {
      const corners = [[...variant.today]];
      data.axes.forEach((axis, number) => [axis.low, axis.high].forEach((end) => corners.push(variant.today.map((old, k) => (k === number ? end : old)))));
      const values = corners.map((corner) => readingsAt(data, variant, corner)[n].value);
      spans.set(key, [Math.min(...values), Math.max(...values)]);
    }
    return spans.get(key);
  }
  function track(variant, n, each, old) {
    const figure = variant.figures[n];
    const marks = [...spanOf(variant, n), each.value, ...(old ? [old.value] : []), ...(figure.limit === null ? [] : [figure.limit])];
    const low = Math.min(...marks), high = Math.max(...marks, low + 1e-12);
    const at = (value) => `${Math.min(98, Math.max(0, (98 * (value - low)) / (high - low)))}%`;
    const bar = made("div", { className: "track", "aria-hidden": "true" });
    const wide = Math.min(100, (196 * each.uncertainty) / (high - low));
    bar.append(made("i", { className: "spread", style: `left:${at(each.value - each.uncertainty)};width:${wide}%;max-width:calc(100% - ${at(each.value - each.uncertainty)})` }));
    bar.append(made("i", { style: `left:${at(each.value)}` }));
    if (old) bar.append(made("i", { className: "was", style: `left:${at(old.value)}` }));
    if (figure.limit !== null) bar.append(made("i", { className: "most", style: `left:${at(figure.limit)}` }));
    return bar;
  }

  function showPins() {
    const { a, b } = state.pins;
    const both = a && b ? [readings(a), readings(b)] : [null, null];
    find("pins-frame").hidden = !(both[0] && both[1]);
    const words = (now) => `${data.variants[now.variant].name}, ${data.axes.map((axis, n) => `${axis.title} ${shownValue(axis, now.values[n])}`).join(", ")}`;
    find("pins-note").textContent = [a && `A: ${words(a)}.`, b && `B: ${words(b)}.`].filter(Boolean).join(" ") || "Pin two states to set them side by side.";
    if (find("pins-frame").hidden) return;
    const keys = data.variants[b.variant].figures.map((figure) => figure.key);
    find("pins").replaceChildren(...data.variants[a.variant].figures.filter((figure) => keys.includes(figure.key)).map((figure, n) => {
      const one = both[0][data.variants[a.variant].figures.indexOf(figure)], other = both[1][keys.indexOf(figure.key)];
      return made("tr", {}, made("td", {}, figure.title), made("td", {}, `${withUncertainty(one)} ${figure.unit}`),
        made("td", {}, `${withUncertainty(other)} ${figure.unit}`), made("td", {}, changeBetween(figure, one, other)));
    }));
  }

  function showShapes(variant) {
    const now = cornersAt(data, variant, state.now.values), was = cornersAt(data, variant, variant.today);
    drawSection(now, was);
    drawPlan(now, was, lengthAt(data, variant, state.now.values), variant.shape.length);
  }
  const bounds = (regions) => {
    const points = regions.flatMap((region) => region.corners);
    return [0, 1].map((k) => [Math.min(...points.map((p) => p[k])), Math.max(...points.map((p) => p[k]))]);
  };
  function loopWindow(regions) {
    const widest = 4 * Math.max(...regions.filter((each) => each.role === "go").map(width));
    const loop = regions.filter((region) => region.role === "go" || (region.role === "return" && width(region) < widest));
    const [low, high] = bounds(loop.length ? loop : regions)[0], margin = 0.35 * (high - low);
    return [low - margin, high + margin];
  }
  const width = (region) => { const xs = region.corners.map((p) => p[0]); return Math.max(...xs) - Math.min(...xs); };
  function drawSection(now, was) {
    const svg = find("section"), every = [...now, ...was];
    const [left, right] = loopWindow(every), [low, high] = bounds(every)[1];
    const scale = 760 / (right - left), height = (high - low) * scale + 60;
    svg.setAttribute("viewBox", `0 0 800 ${height.toFixed(0)}`);
    const path = (region) => `M${region.corners.map(([x, y]) => `${(20 + (x - left) * scale).toFixed(2)},${(20 + (high - y) * scale).toFixed(2)}`).join("L")}Z`;
    svg.replaceChildren(
      ...now.map((region) => drawn("path", { d: path(region), class: ["go", "return"].includes(region.role) ? region.role : "other" })),
      ...was.map((region) => drawn("path", { d: path(region), class: "ghost" })),
      ...scaleBar(scale, 20, height - 22));
  }
  function scaleBar(scale, x, y) {
    const step = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20].findLast((each) => each * scale <= 160) ?? 0.1;
    return [drawn("path", { d: `M${x},${y}h${step * scale}`, stroke: "currentColor", "stroke-width": 2 }),
      drawn("text", { x: x + step * scale + 8, y: y + 4 }, `${step} mm`)];
  }
  function drawPlan(now, was, length, lengthWas) {
    const svg = find("plan");
    const [left, right] = loopWindow([...now, ...was]), longest = Math.max(length, lengthWas);
    const scale = Math.min(760 / (right - left), 320 / longest), height = longest * scale + 60;
    svg.setAttribute("viewBox", `0 0 800 ${height.toFixed(0)}`);
    const area = (region, long, kind) => {
      const xs = region.corners.map((p) => p[0]), from = Math.max(left, Math.min(...xs)), to = Math.min(right, Math.max(...xs));
      return drawn("rect", { x: 400 + (from - (left + right) / 2) * scale, y: 20, width: Math.max(0, to - from) * scale, height: long * scale, class: kind });
    };
    const wideFirst = (regions) => [...regions].sort((a, b) => width(b) - width(a));
    svg.replaceChildren(
      ...wideFirst(now).map((region) => area(region, length, width(region) > right - left ? "layer" : ["go", "return"].includes(region.role) ? region.role : "other")),
      ...was.map((region) => area(region, lengthWas, "ghost")), ...scaleBar(scale, 20, height - 22));
  }

  const figureChooser = find("curve-figure"), keyChooser = find("curve-key");
  data.axes.forEach((axis, n) => keyChooser.append(made("option", { value: n }, axis.unit ? `${axis.title}, ${axis.unit}` : axis.title)));
  for (const chosen of [figureChooser, keyChooser]) {
    chosen.addEventListener("change", () => { state.curve = [Number(figureChooser.value), Number(keyChooser.value)]; move(state.now); });
  }
  function showCurve(variant, now) {
    figureChooser.replaceChildren(...variant.figures.map((figure, n) => made("option", { value: n }, `${figure.title}, ${figure.unit}`)));
    const [n, k] = [Math.min(state.curve[0], variant.figures.length - 1), state.curve[1]];
    figureChooser.value = n; keyChooser.value = k;
    const svg = find("curve");
    if (!now) { svg.replaceChildren(); return; }
    const axis = data.axes[k], figure = variant.figures[n];
    const places = Array.from({ length: 61 }, (_, i) => i / 60);
    const values = places.map((part) => (axis.logarithmic ? axis.low * (axis.high / axis.low) ** part : axis.low + (axis.high - axis.low) * part));
    const at = (value) => readingsAt(data, variant, state.now.values.map((old, number) => (number === k ? value : old)))[n];
    const line = values.map(at), was = readings(reference)[data.variants[0].figures.findIndex((each) => each.key === figure.key)];
    const every = line.flatMap((each) => [each.value - each.uncertainty, each.value + each.uncertainty]);
    const marks = [...every, ...(figure.limit === null ? [] : [figure.limit]), ...(was ? [was.value] : [])];
    const low = Math.min(...marks), high = Math.max(...marks) || 1, span = high - low || 1;
    const x = (value) => 80 + (690 * (placeOf(axis, value) + 1)) / 2, y = (value) => 270 - (240 * (value - low)) / span;
    svg.setAttribute("viewBox", "0 0 800 320");
    const points = line.map((each, i) => `${x(values[i]).toFixed(1)},${y(each.value).toFixed(1)}`).join("L");
    const upper = line.map((each, i) => `${x(values[i]).toFixed(1)},${y(each.value + each.uncertainty).toFixed(1)}`);
    const lower = line.map((each, i) => `${x(values[i]).toFixed(1)},${y(each.value - each.uncertainty).toFixed(1)}`).reverse();
    const ticks = [0, 0.25, 0.5, 0.75, 1];
    svg.replaceChildren(
      ...ticks.map((part) => drawn("path", { d: `M80,${270 - 240 * part}H770`, class: "grid" })),
      ...ticks.map((part) => drawn("text", { x: 74, y: 274 - 240 * part, "text-anchor": "end" }, typeset(String(Number((low + span * part).toPrecision(3)))))),
      ...[0, 30, 60].map((i) => drawn("text", { x: x(values[i]), y: 290, "text-anchor": "middle" }, shownValue(axis, values[i]))),
      drawn("text", { x: 425, y: 312, "text-anchor": "middle" }, `${figure.title}, ${figure.unit}, over ${axis.title}`),
      drawn("path", { d: `M${[...upper, ...lower].join("L")}Z`, class: "band" }),
      drawn("path", { d: `M${points}`, class: "curve" }),
      ...(figure.limit === null ? [] : [drawn("path", { d: `M80,${y(figure.limit)}H770`, class: "budget" })]),
      ...(was ? [drawn("circle", { cx: x(reference.values[k]), cy: y(was.value), r: 6, class: "before" })] : []),
      drawn("circle", { cx: x(state.now.values[k]), cy: y(now[n].value), r: 5, class: "here" }));
  }

  find("today").addEventListener("click", () => move({ variant: state.now.variant, values: [...data.variants[state.now.variant].today] }));
  for (const pin of ["a", "b"]) {
    find(`pin-${pin}`).addEventListener("click", () => { state.pins = { ...state.pins, [pin]: state.now }; move(state.now); });
  }
  find("copy").addEventListener("click", () => {
    const text = scenarioText(data, data.variants[state.now.variant], state.now.values);
    for (const id of ["scenario", "scenario-label", "save"]) find(id).hidden = false;
    find("scenario").value = text;
    find("scenario").select();
    find("save").href = URL.createObjectURL(new Blob([text], { type: "application/toml" }));
    navigator.clipboard?.writeText(text).catch(() => find("scenario").focus());
  });
  addEventListener("hashchange", () => { state = stateOf(data, location.hash.slice(1)); show(); });
  show();
}
startPage(JSON.parse(find("data").textContent));
