// What one check's sweeps say, worked out on the device by the rules of alignment/geometry/measure.
// Plain functions of numbers: nothing here looks at a page. tests/alignment/test_fit_on_device.py
// holds them against the Python ones. Lengths are in micrometres, angles clock positions in degrees.
"use strict";

(() => {
  const radians = (degrees) => (degrees * Math.PI) / 180;
  const sum = (values) => values.reduce((total, value) => total + value, 0);
  const dot = (one, other) => one.reduce((total, value, at) => total + value * other[at], 0);
  const mean = (values) => sum(values) / values.length;
  const spreadOf = (values) => Math.max(...values) - Math.min(...values);
  const norm = (values) => Math.sqrt(dot(values, values));

  /* ---------- least squares ---------- */

  // By modified Gram and Schmidt, each column passed over twice; columns (p of n), observed (n).
  // `root`: the inverse of R, so that root · rootᵀ is (XᵀX)⁻¹.
  function leastSquares(columns, observed) {
    const p = columns.length;
    const basis = [];
    const upper = columns.map(() => new Array(p).fill(0));
    for (let j = 0; j < p; j += 1) {
      let rest = [...columns[j]];
      for (let pass = 0; pass < 2; pass += 1) {
        for (let i = 0; i < j; i += 1) {
          const along = dot(basis[i], rest);
          rest = rest.map((value, at) => value - along * basis[i][at]);
          upper[i][j] += along;
        }
      }
      upper[j][j] = norm(rest);
      basis.push(rest.map((value) => value / upper[j][j]));
    }
    let residuals = [...observed];
    const projected = basis.map((direction) => {
      const along = dot(direction, residuals);
      residuals = residuals.map((value, at) => value - along * direction[at]);
      return along;
    });
    const root = inverseOfUpper(upper);
    const estimate = root.map((row) => dot(row, projected));
    return { estimate, residuals, root };
  }

  function inverseOfUpper(upper) {
    const p = upper.length;
    const inverse = upper.map(() => new Array(p).fill(0));
    for (let i = p - 1; i >= 0; i -= 1) {
      inverse[i][i] = 1 / upper[i][i];
      for (let j = i + 1; j < p; j += 1) {
        let total = 0;
        for (let k = i + 1; k <= j; k += 1) total += upper[i][k] * inverse[k][j];
        inverse[i][j] = -total / upper[i][i];
      }
    }
    return inverse;
  }

  // The largest and smallest eigenvalue of a symmetric matrix, by Jacobi's turns.
  function eigenvalues(matrix) {
    const a = matrix.map((row) => [...row]);
    const p = a.length;
    for (let sweep = 0; sweep < 60; sweep += 1) {
      let off = 0;
      for (let i = 0; i < p; i += 1) for (let j = i + 1; j < p; j += 1) off += a[i][j] ** 2;
      if (off < 1e-300) break;
      for (let i = 0; i < p; i += 1) for (let j = i + 1; j < p; j += 1) turn(a, i, j);
    }
    return a.map((row, at) => row[at]);
  }

  function turn(a, i, j) {
    if (a[i][j] === 0) return;
    const slope = (a[j][j] - a[i][i]) / (2 * a[i][j]);
    const t = Math.sign(slope || 1) / (Math.abs(slope) + Math.sqrt(slope * slope + 1));
    const c = 1 / Math.sqrt(t * t + 1);
    const s = t * c;
    for (let k = 0; k < a.length; k += 1) {
      [a[k][i], a[k][j]] = [c * a[k][i] - s * a[k][j], s * a[k][i] + c * a[k][j]];
    }
    for (let k = 0; k < a.length; k += 1) {
      [a[i][k], a[j][k]] = [c * a[i][k] - s * a[j][k], s * a[i][k] + c * a[j][k]];
    }
  }

  const gram = (columns) => columns.map((one) => columns.map((other) => dot(one, other)));

  /* ---------- distributions ---------- */

  const Z_95 = 1.6448536269514722; // the normal distribution's quantile at 0.95
  const Z_K2 = 2.0000024438996; // and at (1 + 0.9545) / 2
  const ONE_SIDED = 0.95;
  const K2 = (1 + 0.9545) / 2;
  const COUNTLESS = 1e9;
  // Past it the expansion below is exact to more digits than are kept.
  const SERIES_DOF = 300;

  // The chance of t or less with whole degrees of freedom (Abramowitz and Stegun, 26.7.3 and 4).
  function studentBelow(t, dof) {
    const theta = Math.atan(t / Math.sqrt(dof));
    const cosine2 = Math.cos(theta) ** 2;
    const isOdd = dof % 2 === 1;
    let term = isOdd ? Math.cos(theta) : 1;
    let total = 0;
    for (let k = isOdd ? 1 : 0; k <= dof - 2; k += 2) {
      total += term;
      term *= (cosine2 * (k + 1)) / (k + 2);
    }
    const inside = isOdd ? (2 / Math.PI) * (theta + Math.sin(theta) * total) : Math.sin(theta) * total;
    return 0.5 + inside / 2;
  }

  function studentDensity(t, dof) {
    let ratio = dof % 2 === 1 ? 1 / Math.PI : 0.5 / Math.SQRT2; // of Γ((ν+1)/2) and √(νπ)·Γ(ν/2), ν of 1 and 2
    for (let n = dof % 2 === 1 ? 3 : 4; n <= dof; n += 2) ratio *= ((n - 1) / (n - 2)) * Math.sqrt((n - 2) / n);
    return ratio * (1 + (t * t) / dof) ** (-(dof + 1) / 2);
  }

  // Cornish and Fisher's expansion about the normal quantile z (Abramowitz and Stegun, 26.7.5).
  function expanded(z, dof) {
    const [z3, z5, z7, z9] = [3, 5, 7, 9].map((power) => z ** power);
    return (
      z +
      (z3 + z) / (4 * dof) +
      (5 * z5 + 16 * z3 + 3 * z) / (96 * dof ** 2) +
      (3 * z7 + 19 * z5 + 17 * z3 - 15 * z) / (384 * dof ** 3) +
      (79 * z9 + 776 * z7 + 1482 * z5 - 1920 * z3 - 945 * z) / (92160 * dof ** 4)
    );
  }

  function studentQuantile(dof, share, z) {
    if (dof === 1) return Math.tan(Math.PI * (share - 0.5));
    if (dof === 2) return (2 * share - 1) * Math.sqrt(2 / (4 * share * (1 - share)));
    let t = expanded(z, dof);
    if (dof > SERIES_DOF) return t;
    for (let step = 0; step < 50; step += 1) {
      const change = (studentBelow(t, dof) - share) / studentDensity(t, dof);
      t -= change;
      if (Math.abs(change) < 1e-14 * t) break;
    }
    return t;
  }

  // Infinite below one degree of freedom; a broken number is cut to the whole one below.
  function coverage(dof, share, z) {
    if (dof < 1) return Infinity;
    return dof > COUNTLESS ? z : studentQuantile(Math.floor(dof + 1e-9), share, z);
  }

  // The value that chi-square stays below in 95 of 100 cases, by Newton on its series.
  const chiSquared95 = (() => {
    const known = new Map();
    return (dof) => {
      if (!known.has(dof)) known.set(dof, solveChiSquared(dof));
      return known.get(dof);
    };
  })();

  function solveChiSquared(dof) {
    const a = dof / 2;
    let gamma = dof % 2 === 1 ? Math.sqrt(Math.PI) : 1; // Γ(1/2) or Γ(1)
    for (let at = dof % 2 === 1 ? 0.5 : 1; at < a + 1; at += 1) gamma *= at; // up to Γ(a + 1)
    const below = (x) => {
      let [term, total] = [1, 1];
      for (let n = 1; term > 1e-18 * total; n += 1) total += term *= x / (a + n);
      return (Math.exp(-x) * x ** a * total) / gamma;
    };
    let x = a * (1 - 2 / (9 * dof) + Z_95 * Math.sqrt(2 / (9 * dof))) ** 3;
    for (let step = 0; step < 60; step += 1) {
      const slope = (Math.exp(-x) * x ** (a - 1) * a) / gamma;
      const change = (below(x) - 0.95) / slope;
      x -= change;
      if (Math.abs(change) < 1e-15 * x) break;
    }
    return 2 * x;
  }

  /* ---------- one sweep ---------- */

  const SIGN = { bore: -1, boss: 1, face: 1 };
  const LARGEST_BLOW_UP = 1000;
  const SETTLING_POINTS = 8;

  function waves(angles, harmonics) {
    const columns = [angles.map(() => 1)];
    for (let harmonic = 1; harmonic <= harmonics; harmonic += 1) {
      columns.push(angles.map((angle) => Math.sin(harmonic * radians(angle))));
      columns.push(angles.map((angle) => Math.cos(harmonic * radians(angle))));
    }
    return columns;
  }

  function fitSweep({ angles, readings }, surface, { sagUm, leverDeg, statedUm }) {
    if (angles.length < 3) return null;
    const turned = angles.map((angle) => ((angle % 360) + 360) % 360);
    const ordered = [...turned].sort((one, other) => one - other);
    const gaps = ordered.map((angle, at) => (ordered[at + 1] ?? ordered[0] + 360) - angle);
    if (Math.min(...gaps) < 1e-6) return null;
    const cosine = Math.cos(radians(leverDeg));
    const corrected = readings.map((reading, at) => (reading - (sagUm / 2) * (1 - Math.cos(radians(turned[at])))) * cosine);
    const { estimate, residuals, root } = leastSquares(waves(turned, 1), corrected);
    const spread = [1, 2].map((i) => [1, 2].map((j) => dot(root[i], root[j])));
    if (!(Math.sqrt(Math.max(...eigenvalues(spread))) <= LARGEST_BLOW_UP)) return null;
    const dof = angles.length - 3;
    const squares = dot(residuals, residuals);
    const stated = statedUm * cosine;
    const isBelieved = stated > 0 && (dof === 0 || squares <= chiSquared95(dof) * stated ** 2);
    return {
      angles: turned,
      corrected,
      centre: [SIGN[surface] * estimate[1], SIGN[surface] * estimate[2]],
      residuals,
      spread,
      squares,
      dof,
      isBelieved,
      tirUm: spreadOf(corrected),
      formUm: spreadOf(residuals),
    };
  }

  // The offset that an oval of amplitude one is taken for at the worst clock position.
  function ovalInOffset(angles) {
    const [level, right, up, ...oval] = waves(angles, 2);
    const taken = oval.map((wave) => leastSquares([level, right, up], wave).estimate.slice(1));
    const largest = Math.sqrt(Math.max(...eigenvalues(gram(taken)), 0));
    return largest > 1e-9 ? largest : 0;
  }

  function showsOval(angles) {
    if (angles.length < SETTLING_POINTS) return false;
    const sizes = eigenvalues(gram(waves(angles, 2)));
    return Math.sqrt(Math.max(...sizes) / Math.min(...sizes)) < SETTLING_POINTS;
  }

  function runOut(fit, formUm, readingUm) {
    const offset = Math.hypot(...fit.centre);
    if (showsOval(fit.angles)) {
      const { estimate, residuals } = leastSquares(waves(fit.angles, 2), fit.corrected);
      const turn = Array.from({ length: 720 }, (_, at) => at / 2);
      const curve = waves(turn, 2);
      const heights = turn.map((_, at) => sum(curve.map((wave, i) => wave[at] * estimate[i])));
      const beyondUm = Math.max(spreadOf(residuals), formUm || 0);
      return { valueUm: Math.max(spreadOf(heights), fit.tirUm), beyondUm };
    }
    const valueUm = Math.max(2 * offset, fit.tirUm);
    if (formUm === null) return { valueUm, beyondUm: Infinity };
    const form = Math.max(formUm, fit.formUm, 2 * readingUm);
    return { valueUm, beyondUm: 2 * offset + form * (1 + ovalInOffset(fit.angles)) - valueUm };
  }

  /* ---------- the budget ---------- */

  const STEEL_EXPANSION_PER_K = 11.5e-6;
  const LEAST_SCATTER_UM = 1e-4;
  const ROUNDING = 1e-9;
  const rectangular = (halfWidth) => halfWidth / Math.sqrt(3);
  const part = (u, sensitivity = 1, dof = Infinity) => ({ added: sensitivity ? Math.abs(sensitivity) * u : 0, dof });

  function pooledScatter(fits) {
    const dof = sum(fits.map((fit) => fit.dof));
    const u = dof ? Math.sqrt(sum(fits.map((fit) => fit.squares)) / dof) : Infinity;
    return { u, dof, isExplained: fits.every((fit) => fit.isBelieved) };
  }

  function readingParts(known, scatter, { noise, steady }) {
    const cosine = Math.cos(radians(known.leverDeg));
    const isKnown = scatter.dof > 0 && scatter.u >= LEAST_SCATTER_UM;
    const leftOver = part(isKnown ? scatter.u : 0, noise, scatter.dof);
    const stated =
      known.typedUm > 0
        ? [scatter.isExplained ? part(known.typedUm, noise * cosine) : leftOver]
        : [
            part(rectangular(known.errorUm), steady * cosine),
            part(rectangular(known.resolutionUm / 2), noise * cosine),
            leftOver,
          ];
    const parts = stated.filter(({ added }) => added);
    return parts.length ? parts : [part(Infinity, 1, 0)];
  }

  function settingParts(known, valueUm, { sag, warm }) {
    const within = radians(known.leverErrorDeg);
    const slope = Math.tan(radians(known.leverDeg));
    const lever = Math.abs(valueUm) * Math.hypot(slope, within * Math.sqrt(3 / 20));
    return [
      part(known.sagUUm, sag),
      part(rectangular(within), lever),
      part(rectangular(Math.abs(known.temperatureK)), STEEL_EXPANSION_PER_K * known.lengthMm * 1000 * warm),
    ].filter(({ added }) => added);
  }

  function formParts(beyondUm, effect = 1) {
    return beyondUm > 0 && beyondUm < Infinity && effect ? [part(beyondUm / Math.SQRT2, effect)] : [];
  }

  function combined(parts) {
    const u = Math.hypot(...parts.map(({ added }) => added));
    return { u, dof: effectiveDof(parts.filter(({ added }) => added > 0)) };
  }

  function effectiveDof(parts) {
    if (parts.some(({ added, dof }) => added === Infinity || dof === 0)) return 0;
    const largest = Math.max(0, ...parts.map(({ added }) => added));
    const fourth = sum(parts.map(({ added, dof }) => (added / largest) ** 4 / dof));
    return fourth ? sum(parts.map(({ added }) => (added / largest) ** 2)) ** 2 / fourth : Infinity;
  }

  /* ---------- the figure asked for ---------- */

  const PER_MM = 100;
  const TILTS = ["tilt", "tilt front", "tilt up"];
  const DIRECTIONS = { front: [1, 0], up: [0, 1], "tilt front": [1, 0], "tilt up": [0, 1] };
  const SIZES = ["offset", "tilt"];

  // By how much each plane's centre counts in the figure; null where that is not told here.
  function weightsOf({ quantity, surface, planes, perMm, atMm, radiusMm }) {
    const isTilt = TILTS.includes(quantity);
    if (surface === "face") return isTilt && radiusMm > 0 && planes.length === 1 ? [perMm / radiusMm] : null;
    if (planes.length === 1) return isTilt ? null : [1];
    if (planes.length > 2) return null;
    const reach = planes.map(({ zMm }) => (zMm - (planes[0].zMm + planes[1].zMm) / 2) / PER_MM);
    const squares = dot(reach, reach);
    if (!(Math.abs(planes[1].zMm - planes[0].zMm) >= 1e-6)) return null;
    if (isTilt) return reach.map((one) => ((perMm / PER_MM) * one) / squares);
    const at = atMm === null ? 0 : (atMm - (planes[0].zMm + planes[1].zMm) / 2) / PER_MM;
    return reach.map((one) => 0.5 + (at * one) / squares);
  }

  const meanCentre = (fits) => [0, 1].map((axis) => mean(fits.map((fit) => fit.centre[axis])));

  function directionOf(vector, quantity) {
    if (DIRECTIONS[quantity]) return DIRECTIONS[quantity];
    const size = Math.hypot(...vector);
    return size > 0 ? vector.map((value) => value / size) : [0, 1];
  }

  function ofCentres(asked, planes, known) {
    const weights = weightsOf(asked);
    if (!weights) return null;
    const centres = planes.map(meanCentre);
    const vector = [0, 1].map((axis) => sum(centres.map((centre, at) => weights[at] * centre[axis])));
    const direction = directionOf(vector, asked.quantity);
    const pull = weights.map((weight) => direction.map((value) => weight * value));
    const valueUm = SIZES.includes(asked.quantity) ? Math.hypot(...vector) : dot(vector, direction);
    const noises = planes.map((fits, at) => Math.sqrt(mean(fits.map((fit) => dot(pull[at], fit.spread.map((row) => dot(row, pull[at])))))));
    const pulls = pull.map(norm);
    const shift = [0, 1].map((axis) => clearOfRounding(sum(pull.map((one) => one[axis])), pull));
    const oval = planes.map((fits, at) => pulls[at] * Math.max(...fits.map((fit) => ovalInOffset(fit.angles))));
    const parts = [
      ...readingParts(known, pooledScatter(planes.flat()), {
        noise: norm(noises.map((noise, at) => noise / Math.sqrt(planes[at].length))),
        steady: norm(noises.map((noise, at) => Math.max(noise, Math.SQRT1_2 * pulls[at]))),
      }),
      ...repeatability(planes, pulls),
      ...settingParts(known, valueUm, { sag: Math.abs(shift[1]) / 2, warm: Math.hypot(...shift) }),
      ...formParts((known.formUm || 0) / 2, norm(oval)),
    ];
    const isFormUnknown = known.formUm === null && planes.flat().some((fit) => fit.dof === 0);
    return { valueUm, vector, leastUm: null, isFormUnknown, ...combined(parts) };
  }

  function clearOfRounding(shift, pull) {
    return Math.abs(shift) > ROUNDING * sum(pull.flat().map(Math.abs)) ? shift : 0;
  }

  function repeatability(planes, pulls) {
    let [squares, dof] = [0, 0];
    for (const fits of planes) {
      const [right, up] = meanCentre(fits);
      squares += sum(fits.map(({ centre }) => (centre[0] - right) ** 2 + (centre[1] - up) ** 2));
      dof += 2 * (fits.length - 1);
    }
    if (dof === 0 || squares === 0) return [];
    const effect = norm(pulls.map((pull, at) => pull / Math.sqrt(planes[at].length)));
    return [part(Math.sqrt(squares / dof), effect, dof)];
  }

  function ofRunOut(planes, known) {
    if (planes.length > 1) return null;
    const [fits] = planes;
    const runs = fits.map((fit) => runOut(fit, known.formUm, known.readingUm));
    const values = runs.map(({ valueUm }) => valueUm);
    const valueUm = mean(values);
    const beyondUm = Math.max(...runs.map((run) => run.beyondUm));
    const isStated = known.readingUm > 0 && known.typedUm === 0;
    const scatter = isStated ? { u: 0, dof: 0, isExplained: true } : pooledScatter(fits);
    const parts = [
      ...readingParts(known, scatter, { noise: Math.sqrt(2 / fits.length), steady: Math.SQRT2 }),
      ...settingParts(known, valueUm, { sag: 1, warm: 0 }),
      ...formParts(beyondUm),
    ];
    if (fits.length > 1 && spreadOf(values) > 0) {
      const scattered = Math.sqrt(sum(values.map((value) => (value - valueUm) ** 2)) / (fits.length - 1));
      parts.push(part(scattered, 1 / Math.sqrt(fits.length), fits.length - 1));
    }
    const leastUm = mean(fits.map((fit) => fit.tirUm));
    return { valueUm, vector: meanCentre(fits), leastUm, isFormUnknown: beyondUm === Infinity, ...combined(parts) };
  }

  /* ---------- the verdict ---------- */

  function guardFactor(rule, dof) {
    return rule === "95 one-sided" ? coverage(dof, ONE_SIDED, Z_95) : coverage(dof, K2, Z_K2);
  }

  function decide(valueUm, { upperUm, lowerUm, rule }, { u, dof, leastUm, isFormUnknown }) {
    const factor = Number.isFinite(u) ? guardFactor(rule, dof) : Infinity;
    const guardUm = Number.isFinite(factor) ? factor * u : null;
    if (isFormUnknown) {
      const isPast = leastUm !== null && upperUm !== null && guardUm !== null && leastUm > upperUm + guardUm;
      return { guardUm, verdict: isPast ? "outside" : "not proven" };
    }
    if (upperUm === null && lowerUm === null) return { guardUm, verdict: "no limit on record" };
    const [upper, lower] = [upperUm ?? Infinity, lowerUm ?? -Infinity];
    if (guardUm === null) return { guardUm, verdict: "not proven" };
    if (valueUm > upper + guardUm || valueUm < lower - guardUm) return { guardUm, verdict: "outside" };
    const isWithin = lower + guardUm <= valueUm && valueUm <= upper - guardUm;
    return { guardUm, verdict: isWithin ? "within" : "not proven" };
  }

  /* ---------- directions ---------- */

  // "to the rear and up"; "" for none. isShown: whether a length comes to anything as it is written.
  function directionWords(frontUm, upUm, isShown) {
    const words = [];
    if (isShown(frontUm)) words.push(frontUm > 0 ? "to the front" : "to the rear");
    if (isShown(upUm)) words.push(upUm > 0 ? "up" : "down");
    return words.join(" and ");
  }

  /* ---------- all of it ---------- */

  function statedErrorUm(sweeps, { errorUm, errorTravelUm }) {
    if (errorTravelUm === null) return errorUm;
    const values = [0, ...sweeps.flatMap(({ readings }) => readings)];
    return (errorUm * spreadOf(values)) / errorTravelUm;
  }

  const readingUm = (known) =>
    known.typedUm > 0 ? known.typedUm : Math.hypot(rectangular(known.errorUm), rectangular(known.resolutionUm / 2));

  // asked: quantity, surface, signs ([sideways, up]), sign, lowerUm, upperUm, rule, perMm, atMm,
  // radiusMm, and planes: [{ zMm, sweeps: [{ angles, readings }] }]. known: errorUm, errorTravelUm,
  // resolutionUm, typedUm, sagUm, sagUUm, leverDeg, leverErrorDeg, temperatureK, lengthMm, formUm (or
  // null). Gives null for what is not worked out here: too few readings, a bar, three planes.
  function workOut(asked, known) {
    if (!SIGN[asked.surface]) return null;
    const planes = [];
    for (const { sweeps } of asked.planes) {
      const fits = sweeps.map((sweep) => {
        const own = { ...known, errorUm: statedErrorUm([sweep], known) };
        return fitSweep(sweep, asked.surface, { ...known, statedUm: readingUm(own) });
      });
      if (!fits.length || fits.includes(null)) return null;
      planes.push(fits);
    }
    const all = { ...known, errorUm: statedErrorUm(asked.planes.flatMap(({ sweeps }) => sweeps), known) };
    all.readingUm = readingUm(all);
    const found = asked.quantity === "tir" ? ofRunOut(planes, all) : ofCentres(asked, planes, all);
    return found && told(asked, planes, found);
  }

  function told(asked, planes, found) {
    const valueUm = asked.sign * found.valueUm + 0;
    const k = Number.isFinite(found.u) ? coverage(found.dof, K2, Z_K2) : Infinity;
    const isKnown = Number.isFinite(found.u) && (Number.isFinite(k) || found.u === 0);
    const fits = planes.flat();
    return {
      valueUm,
      frontUm: asked.signs[0] * found.vector[0] + 0,
      upUm: asked.signs[1] * found.vector[1] + 0,
      uUm: isKnown ? found.u : null,
      expandedUm: isKnown ? (found.u ? k * found.u : 0) : null,
      k,
      formUm: Math.max(...fits.map((fit) => fit.formUm)),
      tirUm: Math.max(...fits.map((fit) => fit.tirUm)),
      isFormShown: fits.every((fit) => fit.dof > 0),
      ...decide(valueUm, asked, found),
    };
  }

  const fit = { workOut, directionWords, coverage, chiSquared95, Z_95, Z_K2 };
  if (typeof module !== "undefined") module.exports = fit;
  else window.sweepFit = fit;
})();
