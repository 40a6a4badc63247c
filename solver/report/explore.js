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

// Everything known of a state: polynomials at once, what follows from them when it is asked for; null outside the
// solved box. `figure` gives a reading in the unit that is shown, or null where the figure has no bound.
function stateAt(data, variant, values) {
  const places = data.axes.map((axis, number) => placeOf(axis, values[number]));
  if (!places.every((place) => place >= -1 - 1e-9 && place <= 1 + 1e-9)) return null;
  const tables = places.map((place) => hierarchical(data.nodes, place));
  const basisOf = (indices) => indices.map((index) => index.reduce((product, n, axis) => product * tables[axis][n], 1));
  const rows = ({ indices, surpluses }) => {
    const basis = basisOf(indices);
    return (row) => surpluses[row].reduce((total, surplus, n) => total + surplus * basis[n], 0);
  };
  const sum = rows(variant);
  const once = (work) => { let kept; return () => (kept ??= work()); };
  const start = once(() => {
    const inputs = rows(variant.inputs), first = 2 * variant.figures.filter((each) => !each.computed).length;
    const numbers = variant.surpluses.slice(first).map((_, n) => sum(first + n));
    const loop = variant.figures.findIndex((each) => each.key === "loop_inductance");
    const handed = handedFrom(numbers, interpolated(loop).own * variant.figures[loop].scale, data.rates, variant.site);
    return { handed, holdsPackage: variant.inputs.holdsPackage, ...inputsFrom(variant.inputs.surpluses.map((_, n) => inputs(n)), variant.inputs) };
  });
  const edge = once(() => { const { handed, edges, holdsPackage } = start(); return edgeFigures(handed, edges, holdsPackage); });
  const margin = once(() => { const { handed, edges, shared, holdsPackage } = start(); return { inductance_margin: inductanceMargin(handed, edges, shared, holdsPackage) }; });
  const levels = once(() => { const { handed, edges, shared, holdsPackage } = start(); return emissionFigures(handed, edges[0][0], shared, holdsPackage, variant.site); });
  function interpolated(number) {
    const figure = variant.figures[number], value = sum(2 * figure.row), own = Math.max(0, sum(2 * figure.row + 1));
    const size = (figure.byRatios ? Math.exp(value) : value) / figure.scale;
    const part = figure.byRatios ? size : 1 / figure.scale;
    return { value: size, own: part * own, interpolation: part * figure.error };
  }
  function computed(figure) {
    const group = figure.key === "inductance_margin" ? margin : figure.key.includes("emission") ? levels : edge;
    const found = group()[figure.key];
    return found && { value: found[0] / figure.scale, own: found[1] / figure.scale, interpolation: figure.error / figure.scale };
  }
  const figure = (number) => {
    const found = variant.figures[number].computed ? computed(variant.figures[number]) : interpolated(number);
    return found && Number.isFinite(found.value) ? { ...found, uncertainty: found.own + found.interpolation } : null;
  };
  return { figure, start: variant.inputs ? start : null };
}
// Every figure of a variant at values of the axes.
function readingsAt(data, variant, values) {
  const state = stateAt(data, variant, values);
  return state && variant.figures.map((_, number) => state.figure(number));
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
// Whether a figure keeps its budget: by its nominal value, or by its worst within its uncertainty.
function isKept(data, figure, limit, reading) {
  const worst = data.budgets.decide === "worst" ? reading.uncertainty : 0;
  return figure.more ? reading.value - worst >= limit : reading.value + worst <= limit;
}
const shownValue = (axis, value) => `${Number(value.toPrecision(4))}${axis.unit ? ` ${axis.unit}` : ""}`;

// The scenario file of a state, with the budgets as they stand on the page.
function scenarioText(data, variant, values, limitOf) {
  const own = variant.figures.filter((figure) => figure.budgetUnit !== null && limitOf(figure) !== null)
    .map((figure) => [figure.key, `${limitOf(figure)} ${figure.budgetUnit}`]);
  const budgets = Object.entries({ ...data.budgets, ...Object.fromEntries(own) }).map(([key, limit]) => `${key} = "${limit}"`);
  const table = budgets.length ? `\n[budgets]\n${budgets.join("\n")}\n` : "";
  return data.axes.reduce((text, axis, number) => {
    const value = Number(values[number].toPrecision(6));
    return axis.unit
      ? text.replaceAll(`@${number}@`, `${value} ${axis.unit}`)
      : text.replaceAll(`"@${number}@"`, axis.whole ? String(Math.round(value)) : String(value));
  }, variant.text) + table;
}

// Outlines of a picture at values of the axes [mm].
function shapesAt(data, variant, picture, values) {
  const steps = values.map((value, number) => (value - variant.today[number]) * data.axes[number].size);
  return variant[picture].shapes.map((shape) => ({
    ...shape,
    corners: shape.corners.map(([x, y], corner) =>
      steps.reduce((at, step, axis) => {
        const [along, across] = shape.moves[axis][corner] ?? [0, 0];
        return [at[0] + step * along, at[1] + step * across];
      }, [x, y])),
  }));
}

// The state as the address keeps it.
function stateText(state) {
  const pins = ["a", "b"].filter((pin) => state.pins[pin]).map((pin) => `${pin}=${codeOf(state.pins[pin])}`);
  const limits = Object.entries(state.limits).map(([key, limit]) => `l=${key}~${limit}`);
  return [`s=${codeOf(state.now)}`, ...pins, ...limits, `c=${state.curve.join("~")}`].join("&");
}
const codeOf = (now) => [now.variant, ...now.values.map((value) => Number(value.toPrecision(6)))].join("~");
function stateOf(data, text) {
  const pairs = text.split("&").map((part) => part.split("=")), parts = Object.fromEntries(pairs);
  const limits = pairs.filter(([name]) => name === "l").map(([, limit]) => limit.split("~")).map(([key, limit]) => [key, Number(limit)]);
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
    limits: Object.fromEntries(limits.filter(([, limit]) => Number.isFinite(limit))),
    curve: curve.length === 2 && data.axes[curve[1]] && curve[0] >= 0 ? curve : [0, 0],
  };
}

// From here on: the page.
const SVG = "http://www.w3.org/2000/svg";
const KINDS = ["go", "return", "near", "far", "land", "wall", "via", "body", "layer"];
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

const widthOf = (element) => Math.max(280, element.clientWidth);

function startPage(data) {
  const reference = { variant: 0, values: data.variants[0].today };
  let state = stateOf(data, location.hash.slice(1));
  const inputs = data.axes.map((axis, number) => keyInput(axis, number));
  const bases = [...new Set(data.variants.map((each) => each.base))];
  const choosers = [{ title: "variant", labels: bases }, ...data.choices].map(({ title, labels }, number) => {
    const chooser = made("select", { id: number ? `choice-${number}` : "variant" }, ...labels.map((label, n) => made("option", { value: n }, label)));
    chooser.addEventListener("change", () => move({ ...state.now, variant: chosenVariant() }));
    find("keys").append(made("label", { htmlFor: chooser.id }, title), chooser);
    return chooser;
  });
  find("keys").append(...inputs.map((each) => each.row));
  function chosenVariant() {
    const [base, ...picked] = choosers.map((each) => Number(each.value));
    return data.variants.findIndex((each) => each.base === bases[base] && each.picked.every((number, n) => number === picked[n]));
  }

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
  // Width of all pictures, in which letters keep their size; read when it changes, since reading it costs a layout.
  const frameOf = find("curve").parentElement;
  let wide = widthOf(frameOf);
  new ResizeObserver(() => {
    if (wide === widthOf(frameOf)) return;
    wide = widthOf(frameOf);
    show();
  }).observe(frameOf);
  const known = new Map();
  function readings(now) {
    const key = codeOf(now);
    if (!known.has(key)) {
      if (known.size > 100) known.clear();
      known.set(key, readingsAt(data, data.variants[now.variant], now.values));
    }
    return known.get(key);
  }
  let written;
  function move(now) {
    state = { ...state, now };
    show();
    clearTimeout(written);
    written = setTimeout(() => history.replaceState(null, "", `#${stateText(state)}`), 100);  // browsers allow few a second
  }
  // Whether a part of the page shows something else than it did.
  const shown = new Map();
  function isNew(part, ...what) {
    const [before, now] = [shown.get(part), what.join()];
    shown.set(part, now);
    return before !== now;
  }

  function show() {
    const variant = data.variants[state.now.variant], now = readings(state.now);
    [bases.indexOf(variant.base), ...variant.picked].forEach((number, n) => { choosers[n].value = number; });
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
    if (isNew("pins", ["a", "b"].map((pin) => state.pins[pin] && codeOf(state.pins[pin])))) showPins();
    showEdge(variant, now);
    showCurve(variant, now);
    for (const id of ["scenario", "scenario-label", "save"]) find(id).hidden = true;
    find("copy").disabled = !variant.text || !now;
  }
  function saidOf(variant, now) {
    const limited = variant.figures.map((figure, n) => [figure, now[n]]).filter(([figure, each]) => each && limitOf(figure) !== null);
    const broken = limited.filter(([figure, each]) => !isKept(data, figure, limitOf(figure), each)).map(([figure]) => figure.title);
    const first = `${variant.name}: ${variant.figures[0].title} ${withUncertainty(now[0])} ${variant.figures[0].unit}`;
    if (!limited.length) return `${first}.`;
    return broken.length ? `${first}; over budget: ${broken.join(", ")}.` : `${first}; every budget kept.`;
  }

  function showFigures(variant, now) {
    const before = readings(reference), names = data.variants[0].figures.map((figure) => figure.key);
    const there = now ? variant.figures.map((figure, n) => [figure, n]).filter(([, n]) => now[n]) : [];
    for (const [figure, n] of there) {
      const old = before[names.indexOf(figure.key)], each = now[n], limit = limitOf(figure), row = rowOf(variant, figure);
      Object.assign(row.element.dataset, { value: each.value, uncertainty: each.uncertainty });
      write(row.now, `${withUncertainty(each)} ${figure.unit}`.trim());
      write(row.today, old ? withUncertainty(old) : "–");
      write(row.change, old ? changeBetween(figure, old, each) : "–");
      write(row.verdict, limit === null ? "" : `${isKept(data, figure, limit, each) ? "kept" : "exceeded"}${Math.abs(each.value - limit) <= each.uncertainty ? "?" : ""}`);
      write(row.interpolation, Number(each.interpolation.toPrecision(1)).toString());
      if (row.input && document.activeElement !== row.input) row.input.value = limit ?? "";
      placeMarks(row.marks, spansOf(variant)[n] ?? [], each, old, limit);
    }
    if (isNew("rows", state.now.variant, there.map(([, n]) => n))) find("figures").replaceChildren(...there.map(([figure]) => rowOf(variant, figure).element));
    const doubtful = variant.figures.filter((figure) => !figure.within).map((figure) => figure.title);
    write(find("doubt"), doubtful.length && now
      ? `* The interpolation is coarser than the figure's own uncertainty: ${doubtful.join(", ")}. Its error stands in the ±.` : "");
  }
  const write = (element, text) => { if (element.textContent !== text) element.textContent = text; };
  const limitOf = (figure) => state.limits[figure.key] ?? figure.limit;
  const rows = new Map();
  // The row of a figure, made once; its cells are written anew.
  function rowOf(variant, figure) {
    const key = `${variant.name}\n${figure.key}`;
    if (!rows.has(key)) {
      const [now, today, change, interpolation] = Array.from({ length: 4 }, () => made("td", {}));
      const marks = Object.fromEntries(["spread", "here", "was", "most"].map((className) => [className, made("i", { className })]));
      const verdict = made("small", {}), input = budgetInput(figure);
      const element = made("tr", { "data-key": figure.key },
        made("td", {}, `${figure.title}${figure.within ? "" : " *"}`), now, today, change,
        made("td", { className: "words" }, made("div", { className: "track", "aria-hidden": "true" }, ...Object.values(marks))),
        made("td", { className: "words" }, ...(input ? [figure.more ? "≥ " : "≤ ", input] : []), verdict), interpolation);
      rows.set(key, { element, now, today, change, verdict, interpolation, input, marks });
    }
    return rows.get(key);
  }
  function budgetInput(figure) {
    if (figure.budgetUnit === null || (figure.limit === null && !figure.headline)) return null;
    const input = made("input", { type: "number", step: "any", id: `budget-${figure.key}`, "aria-label": `budget of ${figure.title}, ${figure.unit}` });
    input.addEventListener("change", () => {
      const { [figure.key]: before, ...limits } = state.limits;
      state.limits = input.value === "" ? limits : { ...limits, [figure.key]: Number(input.value) };
      move(state.now);
    });
    return input;
  }
  const spans = new Map();
  // Least and largest value of every figure along the keys; found when the page has been shown without.
  function spansOf(variant) {
    if (!spans.has(variant)) {
      spans.set(variant, []);
      setTimeout(() => {
        const ends = data.axes.flatMap((axis, number) => [axis.low, axis.high].map((end) => variant.today.map((old, k) => (k === number ? end : old))));
        const states = [variant.today, ...ends].map((values) => stateAt(data, variant, values));
        spans.set(variant, variant.figures.map((_, n) => {
          const values = states.map((each) => each.figure(n)?.value).filter(Number.isFinite);
          return values.length ? [Math.min(...values), Math.max(...values)] : [];
        }));
        show();
      });
    }
    return spans.get(variant);
  }
  function placeMarks(marks, span, each, old, limit) {
    const all = [...span, each.value, ...(old ? [old.value] : []), ...(limit === null ? [] : [limit])];
    const low = Math.min(...all), high = Math.max(...all, low + 1e-12);
    const at = (value) => Math.min(98, Math.max(0, (98 * (value - low)) / (high - low)));
    const places = { here: each.value, was: old?.value, most: limit ?? undefined };
    for (const [name, value] of Object.entries(places)) {
      marks[name].hidden = value === undefined;
      if (value !== undefined) marks[name].style.left = `${at(value).toFixed(1)}%`;
    }
    const start = at(each.value - each.uncertainty), wide = (196 * each.uncertainty) / (high - low);
    marks.spread.style.cssText = `left:${start.toFixed(1)}%;width:${Math.min(100 - start, wide).toFixed(1)}%`;
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
      if (!one || !other) return null;
      return made("tr", {}, made("td", {}, figure.title), made("td", {}, `${withUncertainty(one)} ${figure.unit}`),
        made("td", {}, `${withUncertainty(other)} ${figure.unit}`), made("td", {}, changeBetween(figure, one, other)));
    }).filter(Boolean));
  }

  function showShapes(variant) {
    for (const picture of ["section", "plan"]) {
      const { shapes } = variant[picture];
      if (!isNew(picture, wide, state.now.variant, state.now.values.filter((_, axis) => shapes.some((each) => each.moves[axis].length)))) continue;
      find(picture).parentElement.hidden = !shapes.length;
      if (!shapes.length) continue;
      const now = shapesAt(data, variant, picture, state.now.values), was = shapesAt(data, variant, picture, variant.today);
      draw(picture, now, was, picture === "section" ? loopWindow([...now, ...was]) : boundsOf(loopAlone([...now, ...was]))[0]);
    }
    const still = variant.plan.still.map((axis) => data.axes[axis].title);
    find("still").textContent = still.length ? `The plan is drawn as it is today in ${still.join(" and ")}, which changes its pieces.` : "";
  }
  const boundsOf = (shapes) => {
    const points = shapes.flatMap((shape) => shape.corners);
    return [0, 1].map((k) => [Math.min(...points.map((p) => p[k])), Math.max(...points.map((p) => p[k]))]);
  };
  function loopWindow(shapes) {
    const widest = 4 * Math.max(...shapes.filter((each) => each.kind === "go").map(width));
    const loop = shapes.filter((each) => each.kind === "go" || (each.kind === "return" && width(each) < widest));
    const [low, high] = boundsOf(loop.length ? loop : shapes)[0], margin = 0.35 * (high - low);
    return [low - margin, high + margin];
  }
  // Ground layers, with the voids that follow them, are drawn as far as the loop's own picture reaches.
  const loopAlone = (shapes) => withVoids(shapes).filter(({ kind }) => kind !== "layer");
  const width = (shape) => { const [low, high] = boundsOf([shape])[0]; return high - low; };
  function draw(picture, now, was, [left, right]) {
    const svg = find(picture), [low, high] = boundsOf(loopAlone([...now, ...was]))[1];
    const ports = portsBeside(now), beside = ports.length ? 20 + 7 * Math.max(...ports.map(({ name }) => name.length)) : 0;
    const scale = Math.min((wide - 40 - beside) / (right - left), 320 / (high - low)), height = (high - low) * scale + 60;
    const x = (at) => (wide - beside) / 2 + (at - (left + right) / 2) * scale, y = (at) => 20 + (high - at) * scale;
    const ring = (corners) => `M${corners.map(([a, b]) => `${x(a).toFixed(2)},${y(b).toFixed(2)}`).join("L")}Z`;
    const piece = (shape, kind) => {
      if (shape.kind !== "via") return drawn("path", { d: [shape.corners, ...shape.voids].map(ring).join(""), class: kind });
      const [[a, b], [edge]] = shape.corners;
      return drawn("circle", { cx: x(a).toFixed(2), cy: y(b).toFixed(2), r: ((edge - a) * scale).toFixed(2), class: kind });
    };
    const named = (shape) => {
      const [[a, b], [c, d]] = boundsOf([shape]);
      return drawn("text", { x: x((a + b) / 2), y: y((c + d) / 2) + 4, "text-anchor": "middle", class: "part-name" }, shape.name);
    };
    svg.setAttribute("viewBox", `0 0 ${wide} ${height.toFixed(0)}`);
    svg.replaceChildren(
      ...withVoids(now).map((shape) => piece(shape, KINDS.includes(shape.kind) ? shape.kind : "other")),
      ...withVoids(was).map((shape) => piece(shape, "ghost")),
      ...now.filter((shape) => shape.kind === "body").map(named), ...ports.flatMap(pointed(x, y, right)), ...scaleBar(scale, 20, height - 22));
  }
  // Copper with the voids that follow it as holes in it.
  function withVoids(shapes) {
    const found = [];
    for (const shape of shapes) if (shape.kind === "void") found.at(-1).voids.push(shape.corners); else found.push({ ...shape, voids: [] });
    return found;
  }
  // Ports whose parts are not drawn as bodies, with their middles, from above.
  function portsBeside(shapes) {
    const names = new Set(shapes.filter(({ kind }) => kind === "land").map(({ name }) => name));
    shapes.filter(({ kind }) => kind === "body").forEach(({ name }) => names.delete(name));
    return [...names].map((name) => ({ name, middle: boundsOf(shapes.filter((each) => each.kind === "land" && each.name === name)).map(([low, high]) => (low + high) / 2) }))
      .sort((one, other) => other.middle[1] - one.middle[1] || other.middle[0] - one.middle[0]);
  }
  // Names of ports beside the copper, one under the other, each with a line to its port.
  function pointed(x, y, right) {
    let lowest = -Infinity;
    return ({ name, middle: [a, b] }) => {
      const at = Math.max(y(b), lowest + 16), edge = x(right) + 10;
      lowest = at;
      return [drawn("path", { d: `M${x(a)},${y(b)}L${edge},${at}`, class: "pointer" }), drawn("circle", { cx: x(a), cy: y(b), r: 2 }),
        drawn("text", { x: edge + 4, y: at + 4 }, name)];
    };
  }
  function scaleBar(scale, x, y) {
    const step = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20].findLast((each) => each * scale <= 160) ?? 0.1;
    return [drawn("path", { d: `M${x},${y}h${step * scale}`, stroke: "currentColor", "stroke-width": 2 }),
      drawn("text", { x: x + step * scale + 8, y: y + 4 }, `${step} mm`)];
  }

  const figureChooser = find("curve-figure"), keyChooser = find("curve-key");
  data.axes.forEach((axis, n) => keyChooser.append(made("option", { value: n }, axis.unit ? `${axis.title}, ${axis.unit}` : axis.title)));
  for (const chosen of [figureChooser, keyChooser]) {
    chosen.addEventListener("change", () => { state.curve = [Number(figureChooser.value), Number(keyChooser.value)]; move(state.now); });
  }
  let waiting;
  function showCurve(variant, now) {
    if (isNew("figures of the curve", state.now.variant)) {
      figureChooser.replaceChildren(...variant.figures.map((figure, n) => made("option", { value: n }, `${figure.title}, ${figure.unit}`)));
    }
    const [n, k] = [Math.min(state.curve[0], variant.figures.length - 1), state.curve[1]];
    figureChooser.value = n; keyChooser.value = k;
    clearTimeout(waiting);
    if (!now || !now[n]) find("curve").replaceChildren();
    else if (variant.figures[n].computed) waiting = setTimeout(() => drawCurve(variant, now, n, k, 24), 120);  // once the slider rests
    else drawCurve(variant, now, n, k, 60);
  }
  function drawCurve(variant, now, n, k, steps) {
    const axis = data.axes[k], figure = variant.figures[n], limit = limitOf(figure);
    const places = Array.from({ length: steps + 1 }, (_, i) => i / steps);
    const every = places.map((part) => (axis.logarithmic ? axis.low * (axis.high / axis.low) ** part : axis.low + (axis.high - axis.low) * part));
    const at = (value) => stateAt(data, variant, state.now.values.map((old, number) => (number === k ? value : old))).figure(n);
    const [values, line] = [[], []];
    for (const value of every) { const each = at(value); if (each) { values.push(value); line.push(each); } }
    const was = readings(reference)[data.variants[0].figures.findIndex((each) => each.key === figure.key)];
    const marks = [...line.flatMap((each) => [each.value - each.uncertainty, each.value + each.uncertainty]), ...(limit === null ? [] : [limit]), ...(was ? [was.value] : [])];
    const low = Math.min(...marks), high = Math.max(...marks) || 1, span = high - low || 1;
    const right = wide - 30;
    const x = (value) => 80 + ((right - 80) * (placeOf(axis, value) + 1)) / 2, y = (value) => 270 - (240 * (value - low)) / span;
    const points = line.map((each, i) => `${x(values[i]).toFixed(1)},${y(each.value).toFixed(1)}`).join("L");
    const upper = line.map((each, i) => `${x(values[i]).toFixed(1)},${y(each.value + each.uncertainty).toFixed(1)}`);
    const lower = line.map((each, i) => `${x(values[i]).toFixed(1)},${y(each.value - each.uncertainty).toFixed(1)}`).reverse();
    find("curve").setAttribute("viewBox", `0 0 ${wide} 320`);
    find("curve").replaceChildren(
      ...frame([80, right], [270, 30], [low, low + span]),
      ...[0, 0.5, 1].map((part) => every[part * steps]).map((value) => drawn("text", { x: x(value), y: 290, "text-anchor": "middle" }, shownValue(axis, value))),
      drawn("text", { x: wide / 2, y: 312, "text-anchor": "middle" }, `${figure.title}, ${figure.unit}, over ${axis.title}`),
      drawn("path", { d: `M${[...upper, ...lower].join("L")}Z`, class: "band" }),
      drawn("path", { d: `M${points}`, class: "curve" }),
      ...(limit === null ? [] : [drawn("path", { d: `M80,${y(limit)}H${right}`, class: "budget" })]),
      ...(was ? [drawn("circle", { cx: x(reference.values[k]), cy: y(was.value), r: 6, class: "before" })] : []),
      drawn("circle", { cx: x(state.now.values[k]), cy: y(now[n].value), r: 5, class: "here" }));
  }
  // Lines across a picture with their values, from the lowest to the highest.
  const frame = ([left, right], [bottom, top], [low, high]) => [0, 0.25, 0.5, 0.75, 1].flatMap((part) => {
    const at = bottom + part * (top - bottom);
    return [drawn("path", { d: `M${left},${at}H${right}`, class: "grid" }),
      drawn("text", { x: left - 6, y: at + 4, "text-anchor": "end" }, typeset(String(Number((low + part * (high - low)).toPrecision(3)))))];
  });

  function showEdge(variant, now) {
    find("edge-part").hidden = !variant.inputs || !now;
    if (find("edge-part").hidden) return;
    const starts = [stateAt(data, variant, state.now.values), stateAt(data, data.variants[0], reference.values)].map((each) => each.start());
    const edges = starts.map((each) => each.edges[0][0]), built = starts.map((each, n) => asBuilt(loopOf(each.handed, edges[n], each.holdsPackage), edges[n]));
    const period = Math.max(...built.map((loop, n) => 2 * Math.PI * Math.sqrt(loop.inductance * capacitanceAt(edges[n], edges[n].height))));
    const end = Math.max(edges[0].duration, edges[1].duration) + 6 * period;
    const [line, was] = built.map((loop, n) => waveformOf(loop, edges[n], end));
    const limit = starts[0].shared.limit;
    const high = Math.max(limit, ...line.map((each) => each[1]), ...was.map((each) => each[1]));
    const low = Math.min(0, ...line.map((each) => each[1]), ...was.map((each) => each[1]));
    const right = wide - 30;
    const x = (time) => 80 + ((right - 80) * time) / end, y = (volts) => 250 - (220 * (volts - low)) / (high - low);
    const path = (points) => `M${points.map(([time, volts]) => `${x(time).toFixed(1)},${y(volts).toFixed(1)}`).join("L")}`;
    find("edge").setAttribute("viewBox", `0 0 ${wide} 300`);
    find("edge").replaceChildren(
      ...frame([80, right], [250, 30], [low, high]),
      ...[0, 0.5, 1].map((part) => drawn("text", { x: x(part * end), y: 270, "text-anchor": "middle" }, `${Number((part * end * 1e9).toPrecision(3))} ns`)),
      drawn("text", { x: wide / 2, y: 292, "text-anchor": "middle" }, "voltage at the switch, V, after the edge"),
      drawn("path", { d: path(was), class: "ghost" }), drawn("path", { d: path(line), class: "curve" }),
      ...(limit > 0 ? [drawn("path", { d: `M80,${y(limit)}H${right}`, class: "budget" })] : []));
  }

  find("today").addEventListener("click", () => {
    const { base } = data.variants[state.now.variant], variant = data.variants.findIndex((each) => each.base === base);
    move({ variant, values: [...data.variants[variant].today] });
  });
  for (const pin of ["a", "b"]) {
    find(`pin-${pin}`).addEventListener("click", () => { state.pins = { ...state.pins, [pin]: state.now }; move(state.now); });
  }
  find("copy").addEventListener("click", () => {
    const text = scenarioText(data, data.variants[state.now.variant], state.now.values, limitOf);
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
