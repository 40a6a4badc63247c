"use strict";
// What follows from a solved loop without another field: the edge through it, its ring, the levels at the antenna.
// Formulas and names are those of solver/circuit, solver/switching and solver/emission; solver/explore/consequences.py
// does the same with these themselves, and tests hold both against each other. SI units throughout.

// Series loop as solver/circuit/series_loop.py has it: cells are [resistance, rate].
function loopOf(handed, edge, holdsPackage) {
  const plain = {
    resistance: handed.resistance + edge.resistance,
    inductance: handed.inductance + (holdsPackage ? 0 : edge.package),
    cells: handed.cells,
    snubber: null,
  };
  return damped(plain, edge);
}

// Small-signal capacitance, C0/(1 + v/Vj)^m + Cf, piece by piece: geometries/operation/capacitance.py.
function capacitanceAt(law, voltage) {
  let n = 0;
  while (voltage > law.ends[n]) n += 1;
  const piece = law.pieces[n];
  return piece.zeroBias / (1 + voltage / piece.junction) ** piece.exponent + law.fixed;
}
// Charge up to a voltage: the exact integral of the same law.
function chargeUpTo(law, voltage) {
  return law.pieces.reduce((sum, piece, n) => {
    const low = n ? law.ends[n - 1] : 0, high = Math.min(voltage, law.ends[n] ?? Infinity);
    if (high <= low) return sum;
    const one = 1 + low / piece.junction, two = 1 + high / piece.junction, power = 1 - piece.exponent;
    const part = power === 0 ? Math.log(two / one) : (two ** power - one ** power) / power;
    return sum + piece.zeroBias * piece.junction * part;
  }, law.fixed * voltage);
}

// Series impedance R + sL + sum of s R_k/(s + rate_k) at s = j omega, as [real, imaginary].
function seriesImpedance(loop, omega) {
  let real = loop.resistance, imaginary = omega * loop.inductance;
  for (const [resistance, rate] of loop.cells) {
    const whole = omega * omega + rate * rate;
    real += (resistance * omega * omega) / whole;
    imaginary += (resistance * omega * rate) / whole;
  }
  return [real, imaginary];
}

// Resistance that brings the ring to its stated quality, what is in the loop already counted: solver/variant/edge_circuit.py.
function damped(loop, edge) {
  if (edge.quality === 0) return loop;
  const capacitance = capacitanceAt(edge, edge.height);
  const bare = { ...loop, resistance: Math.max(0, loop.resistance - edge.added) };
  let omega = 1 / Math.sqrt(bare.inductance * capacitance);
  for (let n = 0; n < 3; n += 1) omega = 1 / Math.sqrt((seriesImpedance(bare, omega)[1] / omega) * capacitance);
  const [real, imaginary] = seriesImpedance(bare, omega);
  return { ...loop, resistance: loop.resistance + Math.max(0, imaginary / edge.quality - real) };
}
const asBuilt = (loop, edge) => (edge.snubberCapacitance ? { ...loop, snubber: [edge.snubberResistance, edge.snubberCapacitance] } : loop);
const withMore = (loop, inductance) => ({ ...loop, inductance: loop.inductance + inductance });

// The ring for small changes about the final voltage: the root of R + sL + cells + 1/Y with Y = sC + snubber, by Newton's
// method; null where nothing turns. Quality is |s| over twice its decay rate.
function ringOf(loop, edge) {
  const capacitance = capacitanceAt(edge, edge.height);
  const times = ([a, b], [c, d]) => [a * c - b * d, a * d + b * c];
  const over = ([a, b], [c, d]) => { const size = c * c + d * d; return [(a * c + b * d) / size, (b * c - a * d) / size]; };
  const value = (s) => {
    let sum = [loop.resistance + s[0] * loop.inductance, s[1] * loop.inductance], slope = [loop.inductance, 0];
    for (const [resistance, rate] of loop.cells) {
      const part = over([resistance, 0], [s[0] + rate, s[1]]);
      const whole = times(s, part);
      sum = [sum[0] + whole[0], sum[1] + whole[1]];
      const turn = over(times(part, [rate, 0]), [s[0] + rate, s[1]]);
      slope = [slope[0] + turn[0], slope[1] + turn[1]];
    }
    let admittance = [s[0] * capacitance, s[1] * capacitance], steeper = [capacitance, 0];
    if (loop.snubber) {
      const [resistance, across] = loop.snubber, below = [1 + s[0] * resistance * across, s[1] * resistance * across];
      const part = over([s[0] * across, s[1] * across], below), turn = over([across, 0], times(below, below));
      admittance = [admittance[0] + part[0], admittance[1] + part[1]];
      steeper = [steeper[0] + turn[0], steeper[1] + turn[1]];
    }
    const inverse = over([1, 0], admittance), less = times(times(inverse, inverse), steeper);
    return [[sum[0] + inverse[0], sum[1] + inverse[1]], [slope[0] - less[0], slope[1] - less[1]]];
  };
  const omega = 1 / Math.sqrt(loop.inductance * capacitance);
  const [real] = seriesImpedance(loop, omega);
  let s = [-real / (2 * loop.inductance), omega];
  for (let n = 0; n < 60; n += 1) {
    const step = over(...value(s));
    s = [s[0] - step[0], s[1] - step[1]];
    if (Math.hypot(...step) < 1e-12 * Math.hypot(...s)) break;
  }
  if (!(Math.abs(s[1]) > 1e-9 * Math.hypot(...s))) return null;
  return { frequency: Math.abs(s[1]) / (2 * Math.PI), quality: Math.hypot(...s) / (-2 * s[0]) };
}

// Equations of solver/circuit/nonlinear_edge.py by the classical method of Runge and Kutta, fourth order: states are
// current, voltage, currents of the cells, and the snubber's voltage. Calls `seen` with every step.
const PER_PERIOD = 48;
function integrate(loop, edge, until, seen) {
  const cells = loop.cells.length, size = 2 + cells + (loop.snubber ? 1 : 0);
  const fastest = Math.max(0, ...loop.cells.map(([, rate]) => rate), loop.snubber ? 1 / (loop.snubber[0] * capacitanceAt(edge, edge.height)) : 0);
  const period = 2 * Math.PI * Math.sqrt(loop.inductance * capacitanceAt(edge, edge.height));
  const longest = Math.min(period / PER_PERIOD, 1 / Math.max(fastest, 1e-300));
  let state = new Float64Array(size), next = new Float64Array(size), slope = new Float64Array(size);
  const slopes = (at, now, out) => {
    const source = edge.height * (edge.duration > 0 ? Math.min(1, at / edge.duration) : 1);
    let drop = loop.resistance * now[0];
    for (let k = 0; k < cells; k += 1) {
      const [resistance, rate] = loop.cells[k], across = resistance * (now[0] - now[2 + k]);
      drop += across;
      out[2 + k] = rate * (now[0] - now[2 + k]);
    }
    out[0] = (source - drop - now[1]) / loop.inductance;
    let into = now[0];
    if (loop.snubber) {
      const through = (now[1] - now[size - 1]) / loop.snubber[0];
      into -= through;
      out[size - 1] = through / loop.snubber[1];
    }
    out[1] = into / capacitanceAt(edge, Math.max(now[1], 0));
  };
  const k2 = new Float64Array(size), k3 = new Float64Array(size), k4 = new Float64Array(size), middle = new Float64Array(size);
  for (const [start, stop] of [[0, Math.min(edge.duration, until)], [Math.min(edge.duration, until), until]]) {
    const steps = Math.ceil((stop - start) / longest);
    for (let n = 0; n < steps; n += 1) {
      const step = (stop - start) / steps, time = start + n * step;
      if (n === 0) slopes(time, state, slope);
      for (let i = 0; i < size; i += 1) middle[i] = state[i] + (step / 2) * slope[i];
      slopes(time + step / 2, middle, k2);
      for (let i = 0; i < size; i += 1) middle[i] = state[i] + (step / 2) * k2[i];
      slopes(time + step / 2, middle, k3);
      for (let i = 0; i < size; i += 1) middle[i] = state[i] + step * k3[i];
      slopes(time + step, middle, k4);
      for (let i = 0; i < size; i += 1) next[i] = state[i] + (step / 6) * (slope[i] + 2 * k2[i] + 2 * k3[i] + k4[i]);
      const rising = slope[1], low = state[1];
      [state, next] = [next, state];
      slopes(time + step, state, slope);
      if (seen(time, step, low, state[1], rising, slope[1], state[0])) return;
    }
  }
}
// Largest voltage after an edge: the highest maximum of the cubic through values and slopes of a step; the final voltage
// if none is above it. Without snubber the first maximum after the edge is the highest of those that follow.
function peakOf(loop, edge) {
  let highest = edge.height;
  const beside = loop.snubber ? loop.snubber[1] : 0;
  const whole = loop.inductance + loop.cells.reduce((sum, [resistance, rate]) => sum + resistance / rate, 0);
  const slow = 2 * Math.PI * Math.sqrt(whole * (chargeUpTo(edge, edge.height) / edge.height + beside));
  integrate(loop, edge, edge.duration + 1.5 * slow, (time, step, low, high, rising, falling) => {
    if (!(rising > 0 && falling <= 0)) return false;
    const [a, b] = [rising * step, falling * step], rise = high - low;
    const [cubic, square] = [a + b - 2 * rise, 3 * rise - 2 * a - b];
    const root = Math.sqrt(Math.max(0, square * square - 3 * cubic * a));
    const place = a / (root - square);
    highest = Math.max(highest, low + place * (a + place * (square + place * cubic)));
    return !loop.snubber && time + step > edge.duration * (1 + 1e-9);
  });
  return highest;
}
// Voltage and current over time, for a picture: [time, voltage, current] of every step.
function waveformOf(loop, edge, until) {
  const points = [[0, 0, 0]];
  integrate(loop, edge, until, (time, step, low, high, rising, falling, current) => { points.push([time + step, high, current]); return false; });
  return points;
}

// Largest inductance of a bare loop that keeps a limit: followed upwards in steps of a fifth, then by bisection and
// secants, as solver/switching/voltage_limits.py; from a value near it in smaller steps.
function largestInductance(edge, limit, near) {
  const excess = (inductance) => {
    const loop = { resistance: edge.resistance, inductance, cells: [], snubber: null };
    return peakOf(damped(loop, edge), edge) / limit - 1;
  };
  let low = near ?? 1e-9;
  const start = low, ratio = near ? 1.1 : 1.2;
  let below = excess(low);
  while (below > 0 || (!near && excess(low / ratio) > 0)) {
    low /= near ? 1.3 : 2;
    if (low < start / 1000) return 0;
    below = excess(low);
  }
  let high = low, above = below;
  while (above <= 0) {
    [low, below] = [high, above];
    high *= ratio;
    if (high > 1000 * start) return Infinity;
    above = excess(high);
  }
  for (let n = 0; n < 40 && high - low > 1e-5 * low; n += 1) {
    const secant = low - (below * (high - low)) / (above - below);
    const middle = n % 3 === 2 ? (low + high) / 2 : Math.min(Math.max(secant, low + 1e-6 * low), high - 1e-6 * low);
    const value = excess(middle);
    if (value > 0) [high, above] = [middle, value]; else [low, below] = [middle, value];
  }
  return low - (below * (high - low)) / (above - below);
}

// Peak, ring and margin of inductance with their uncertainties: every source of it at both of its ends, the largest
// change of each, all as independent; as solver/switching/influences.py.
function edgeFigures(handed, edges, holdsPackage) {
  const of = (edge, more) => {
    const loop = asBuilt(withMore(loopOf(handed, edge, holdsPackage), more), edge);
    const ring = ringOf(loop, edge);
    return [peakOf(loop, edge), ring ? ring.frequency : 0, ring ? ring.quality : 0];
  };
  const [described, ...sources] = edges, nominal = of(described[0], 0);
  const error = handed.uncertainty, least = Math.max(-error, -0.9 * loopOf(handed, described[0], holdsPackage).inductance);
  const cases = [[least, error].map((more) => of(described[0], more)), ...sources.map((each) => each.map((edge) => of(edge, 0)))];
  const spread = [0, 1, 2].map((k) => Math.hypot(...cases.map((ends) => Math.max(...ends.map((end) => Math.abs(end[k] - nominal[k]))))));
  const height = described[0].height;
  return {
    peak_voltage: [nominal[0], spread[0]],
    overshoot: [nominal[0] / height - 1, spread[0] / height],
    ring_frequency: [nominal[1], spread[1]],
    ring_quality: [nominal[2], spread[2]],
  };
}
const keptMost = new Map();
// Largest inductance with its uncertainty; it does not depend on the loop, so the last ones are kept.
function mostInductance(edges, limit) {
  const key = JSON.stringify([edges.map((each) => each.map((edge) => [edge.height, edge.duration, edge.resistance, edge.added, edge.quality, edge.fixed, edge.pieces])), limit]);
  if (!keptMost.has(key)) {
    const most = largestInductance(edges[0][0], limit);
    const changes = Number.isFinite(most) && most > 0 ? edges.slice(1).map((each) => Math.max(...each.map((edge) => {
      const end = largestInductance(edge, limit, most);
      return Number.isFinite(end) ? Math.abs(end - most) : most;
    }))) : [];
    if (keptMost.size > 200) keptMost.clear();
    keptMost.set(key, [most, Math.hypot(...changes)]);
  }
  return keptMost.get(key);
}
function inductanceMargin(handed, edges, shared, holdsPackage) {
  if (!(shared.limit > 0)) return null;
  const [most, spread] = mostInductance(edges, shared.limit);
  const edge = edges[0][0], loop = loopOf(handed, edge, holdsPackage), ring = ringOf(loop, edge);
  const omega = ring ? 2 * Math.PI * ring.frequency : 1 / Math.sqrt(loop.inductance * capacitanceAt(edge, edge.height));
  return [most - seriesImpedance(loop, omega)[1] / omega, Math.hypot(spread, handed.uncertainty, holdsPackage ? 0 : shared.packageSpread)];
}

// Largest lines of the loop's current and of the switch node's voltage for any duty, root mean square:
// solver/emission/current.py, with the envelope of a trapezoid of solver/formulas/waveforms.py.
function linesAt(frequency, loop, edge, shared) {
  const shape = [shared.rise, shared.fall].reduce((sum, time) => sum + Math.min(1, 1 / (Math.PI * frequency * time)), 0)
    * (shared.frequency / (Math.PI * frequency)) / Math.SQRT2;
  const omega = 2 * Math.PI * frequency, [real, imaginary] = seriesImpedance(loop, omega);
  let shunt = [0, omega * capacitanceAt(edge, edge.height)];
  if (loop.snubber) {
    const [resistance, across] = loop.snubber, reactance = -1 / (omega * across), size = resistance ** 2 + reactance ** 2;
    shunt = [resistance / size, shunt[1] - reactance / size];
  }
  const below = [1 + shunt[0] * real - shunt[1] * imaginary, shunt[0] * imaginary + shunt[1] * real], size = below[0] ** 2 + below[1] ** 2;
  const admittance = [(shunt[0] * below[0] + shunt[1] * below[1]) / size, (shunt[1] * below[0] - shunt[0] * below[1]) / size];
  return {
    current: shape * Math.hypot(shared.current + edge.height * admittance[0], edge.height * admittance[1]),
    voltage: (shape * edge.height) / Math.sqrt(size),
  };
}
// Value of a curve at a place between points that lie evenly on a logarithmic axis, straight lines between.
const placeOnGrid = ({ grid, points }, frequency) => (Math.log(frequency / grid[0]) / Math.log(grid[1] / grid[0])) * (points - 1);
function onGrid(curve, place) {
  const low = Math.min(curve.length - 2, Math.max(0, Math.floor(place)));
  return curve[low] + Math.min(1, Math.max(0, place - low)) * (curve[low + 1] - curve[low]);
}
const TENTH = Math.LN10 / 10;
const limitAt = (bands, frequency) => bands.reduce((least, [start, stop, level, slope]) =>
  (frequency >= start && frequency <= stop ? Math.min(least, level + slope * Math.log10(frequency / start)) : least), Infinity);

// Numbers of the lines at which the sum is looked at: solver/emission/product.py.
function summedLines(first, last, site, frequency) {
  const low = first * frequency, high = last * frequency, numbers = new Set();
  const after = (at) => Math.ceil(at / frequency - 1e-9), clip = (n) => Math.min(last, Math.max(first, n));
  for (let n = 0; n < site.lines; n += 1) numbers.add(clip(after(low * (high / low) ** (n / (site.lines - 1)))));
  for (const step of site.steps) { numbers.add(clip(after(step))); numbers.add(clip(Math.floor(step / frequency + 1e-9))); }
  return [...numbers];
}
// Margin of the loop alone and highest line of all sources: solver/emission/prediction.py and total.py.
function emissionFigures(handed, edge, shared, holdsPackage, site) {
  const loop = asBuilt(loopOf(handed, edge, holdsPackage), edge);
  const first = Math.max(1, Math.ceil(site.grid[0] / shared.frequency - 1e-9)), last = Math.floor(site.grid[1] / shared.frequency + 1e-9);
  let margin = Infinity;
  for (let n = first; n <= last; n += Math.max(1, Math.floor(n / 2000))) {  // thinned where they lie close
    const at = n * shared.frequency, allowed = limitAt(site.bands, at);
    if (!Number.isFinite(allowed)) continue;
    const place = placeOnGrid(site, at), moment = Math.exp(onGrid(handed.moments, place));
    const level = 20 * Math.log10(moment * linesAt(at, loop, edge, shared).current) + onGrid(site.perMoment, place);
    margin = Math.min(margin, allowed - level);
  }
  const found = { emission_margin: [margin, site.band] };
  if (handed.levels.length) {
    let highest = [-Infinity, 0];
    for (const n of summedLines(first, last, site, shared.frequency)) {
      const at = n * shared.frequency, driven = linesAt(at, loop, edge, shared), place = placeOnGrid(site, at);
      const sums = handed.levels.map((sources) => {
        const powers = sources.map((curve, k) => Math.exp(onGrid(curve, place) * TENTH) * (site.byCurrent[k] ? driven.current : driven.voltage) ** 2);
        const whole = powers.reduce((sum, each) => sum + each, 0);
        return [10 * Math.log10(whole), Math.hypot(...powers.map((each, k) => (each / whole) * handed.bands[k]))];
      });
      const levels = sums.map(([level]) => level), low = Math.min(...levels), high = Math.max(...levels);
      if ((low + high) / 2 > highest[0]) highest = [(low + high) / 2, Math.hypot((high - low) / 2, ...[Math.max(...sums.map(([, band]) => band))])];
    }
    found.product_emission = highest;
  }
  return found;
}

// What a variant hands on, from the numbers that are interpolated; see Handed in solver/explore/consequences.py.
function handedFrom(numbers, uncertainty, rates, site) {
  const cells = numbers.slice(2, 2 + rates.length).map((resistance, k) => [Math.max(0, resistance), rates[k]]).filter(([resistance]) => resistance > 0);
  const sources = site ? site.byCurrent.length : 0, count = site ? site.points : 0, first = 3 + rates.length, from = first + count;
  const curves = Array.from({ length: site ? site.ways : 0 }, (_, way) => Array.from({ length: sources }, (_, source) =>
    numbers.slice(from + sources + (way * sources + source) * count, from + sources + (way * sources + source + 1) * count)));
  return {
    resistance: Math.exp(numbers[0]), inductance: Math.exp(numbers[1]), cells, uncertainty,
    moments: numbers.slice(first, from), bands: numbers.slice(from, from + sources), levels: curves,
  };
}
// Edges, the described one first and then those of every source of uncertainty, and the numbers of the whole scenario.
function inputsFrom(numbers, inputs) {
  const pieces = inputs.ends.length + 1, size = inputs.edgeNames.length + 3 * pieces;
  const edgeAt = (n) => {
    const own = numbers.slice(n * size, (n + 1) * size);
    const edge = Object.fromEntries(inputs.edgeNames.map((name, k) => [name, own[k]]));
    const laws = Array.from({ length: pieces }, (_, k) => own.slice(inputs.edgeNames.length + 3 * k, inputs.edgeNames.length + 3 * k + 3));
    return { ...edge, ends: inputs.ends, pieces: laws.map(([zeroBias, exponent, junction]) => ({ zeroBias, exponent, junction })) };
  };
  let next = 1;
  const edges = [[edgeAt(0)], ...inputs.sources.map((count) => Array.from({ length: count }, () => edgeAt(next++)))];
  const rest = numbers.slice(next * size);
  return { edges, shared: Object.fromEntries(inputs.sharedNames.map((name, k) => [name, rest[k]])) };
}
