// Draws the charts of the report out of the data in the page. Everything that it shows is in a table as well.
'use strict';
(() => {
  const data = JSON.parse(document.getElementById('data').textContent);
  const charts = new Map();
  const superscript = n => String(n).replace(/[-0-9]/g, c => '⁻⁰¹²³⁴⁵⁶⁷⁸⁹'['-0123456789'.indexOf(c)]);
  const powerOfTen = v => {
    const power = Math.log10(v);
    return Math.abs(power - Math.round(power)) < 1e-9 ? '10' + superscript(Math.round(power)) : '';
  };
  const inS = ms => (ms / 1000).toFixed(3);

  // ---- looks: colour, dash and marker of each of the four lines ----
  const colour = name => getComputedStyle(document.documentElement).getPropertyValue('--' + name).trim();
  const dashes = { 1: [], 2: [10, 5], 3: [2, 3], 4: [9, 4, 2, 4] };
  const markers = { 1: 'circle', 2: 'rect', 3: 'triangle', 4: 'rectRot' };
  const look = n => ({
    borderColor: colour('line' + n), backgroundColor: colour('line' + n), borderDash: dashes[n], borderWidth: 2,
    pointStyle: markers[n], pointRadius: 5, pointHoverRadius: 7, tension: 0, clip: 8,
  });
  const inkLine = () => ({ borderColor: colour('ink'), backgroundColor: colour('ink'), borderWidth: 1.5, pointRadius: 0 });
  function hatching(name) {
    const tile = document.createElement('canvas');
    tile.width = tile.height = 10;
    const pen = tile.getContext('2d');
    pen.strokeStyle = colour(name);
    pen.lineWidth = 1;
    for (const shift of [-10, 0, 10]) {
      pen.beginPath();
      pen.moveTo(shift, 10);
      pen.lineTo(shift + 10, 0);
      pen.stroke();
    }
    return pen.createPattern(tile, 'repeat');
  }
  function axis(title, more) {
    const given = more || {};
    return { ...given, title: { display: !!title, text: title, color: colour('soft') },
      ticks: { color: colour('soft'), ...given.ticks }, grid: { color: colour('hair'), drawBorder: true, borderColor: colour('edge'), ...given.grid } };
  }

  // ---- words on lines ----
  const font = () => '13px system-ui, sans-serif';
  function words(chart, text, x, y, align) {
    const pen = chart.ctx;
    pen.save();
    pen.font = font();
    pen.textAlign = align || 'left';
    const wide = pen.measureText(text).width;
    const left = align === 'center' ? x - wide / 2 : align === 'right' ? x - wide : x;
    pen.fillStyle = colour('sheet');
    pen.globalAlpha = 0.85;
    pen.fillRect(left - 2, y - 13, wide + 4, 17);
    pen.globalAlpha = 1;
    pen.fillStyle = colour('ink');
    pen.fillText(text, x, y);
    pen.restore();
  }
  const inkAcross = (chart, x, from, to, dash) => {
    const pen = chart.ctx;
    pen.save();
    pen.strokeStyle = colour('ink');
    pen.setLineDash(dash || []);
    pen.beginPath();
    pen.moveTo(x, from);
    pen.lineTo(x, to);
    pen.stroke();
    pen.restore();
  };
  // The label of each line at its last point, inside the area: { label, at: 'end' }.
  const endWords = {
    id: 'endWords',
    afterDatasetsDraw(chart) {
      if (chart.width < 500) return;  // the legend has them
      chart.data.datasets.forEach((set, index) => {
        if (!set.endWords || !chart.isDatasetVisible(index)) return;
        const points = chart.getDatasetMeta(index).data.filter(p => !p.skip && Number.isFinite(p.y));
        if (points.length) words(chart, set.endWords, chart.chartArea.right - 4, points[points.length - 1].y - 8, 'right');
      });
    },
  };
  const common = () => ({
    animation: false, responsive: true, maintainAspectRatio: false, interaction: { mode: 'nearest', intersect: true },
    color: colour('ink'), layout: { padding: { right: 8, top: 4 } },
    plugins: {
      legend: { position: 'bottom', align: 'start', labels: { color: colour('ink'), usePointStyle: true, boxWidth: 34, padding: 12,
        filter: item => !!item.text } },
      tooltip: { backgroundColor: colour('ink'), titleColor: colour('sheet'), bodyColor: colour('sheet'), cornerRadius: 2 },
    },
  });

  // ---- the charts ----
  const stateWords = ['stopped', 'waits', 'starting', 'running'];
  const stateHeight = { 'safe state': 0, 'awaiting acknowledgement': 1, 'start-up': 2, running: 3 };

  function stepsOf(changes, first, height, end) {
    const points = [{ x: 0, y: first }];
    for (const [at, value] of changes) points.push({ x: at / 1000, y: height(value) });
    points.push({ x: end, y: points[points.length - 1].y });
    return points;
  }

  const textWidth = text => {
    const pen = document.createElement('canvas').getContext('2d');
    pen.font = font();
    return pen.measureText(text).width;
  };
  const cut = (text, letters) => text.length > letters ? text.slice(0, letters - 1) + '…' : text;

  function timeLine(line, narrow) {
    const end = line.duration / 1000, sets = [], scales = {};
    const letters = narrow ? 14 : 24;
    const labels = [...stateWords, 'injected', ...line.signals.map(s => cut(s.name, letters))];
    // one width for all lanes: the library would fit each to itself and cut the longest
    const wide = Math.max(...labels.map(textWidth)) + 44;
    const lane = (id, weight, title, min, max, ticks) => {
      scales[id] = axis(title, { type: 'linear', position: 'left', stack: 'lanes', stackWeight: weight, min, max, offset: true,
        ticks: { autoSkip: false, ...ticks }, grid: { drawTicks: false } });
      scales[id].afterFit = a => { a.width = wide; };
    };
    const only = (values, text) => ({
      axis: a => { a.ticks = values.map(value => ({ value })); }, ticks: { callback: text, autoSkip: false },
    });
    const marked = (id, values, text) => {
      const o = only(values, text);
      scales[id].afterBuildTicks = o.axis;
      scales[id].ticks.callback = o.ticks.callback;
    };
    // the last lane that is made stands on top
    if (line.machine !== null) {
      const top = Math.max(1, ...line.speed.map(p => p[1]));
      lane('speed', 2, cut(line.machine, 10) + ', mm/s', 0, top * 1.1);
      marked('speed', [0, top], v => String(v));
      sets.push({ ...look(2), borderDash: [], pointRadius: 0, clip: 0, fill: false, label: line.machine + ', speed', yAxisID: 'speed',
        data: line.speed.map(([at, v]) => ({ x: at / 1000, y: v })) });
    }
    const count = line.signals.length;
    if (count > 0) {
      const base = i => (count - 1 - i) * 1.6;
      lane('signals', Math.max(1.2, count * 0.8), '', -0.3, (count - 1) * 1.6 + 1.3);
      marked('signals', line.signals.map((_, i) => base(i)), v => {
        const i = line.signals.findIndex((_, k) => Math.abs(base(k) - v) < 1e-6);
        return i < 0 ? '' : cut(line.signals[i].name, letters);
      });
      line.signals.forEach((signal, i) => sets.push({ ...look(1), borderDash: [], pointRadius: 0, clip: 0, stepped: 'before', yAxisID: 'signals',
        label: signal.name + ' at ' + signal.used_at,
        data: stepsOf(signal.changes, base(i), v => base(i) + v, end) }));
    }
    for (const which of ['device', 'controller']) {
      lane(which, 2.4, cut(narrow ? line[which].short : line[which].name, 16), -0.4, 3.4);
      marked(which, [0, 1, 2, 3], v => stateWords[v]);
      sets.push({ ...look(1), borderDash: [], pointRadius: 0, clip: 0, stepped: 'before', yAxisID: which, label: line[which].name,
        data: stepsOf(line[which].states, 2, s => stateHeight[s], end) });
    }
    lane('faults', 1.2, 'faults', -0.5, 1.5);
    marked('faults', [0, 1], v => ['caught', 'injected'][v]);
    const fired = line.injections.filter(i => i.at !== null);
    sets.push({ ...look(4), showLine: false, pointRotation: 180, pointStyle: 'triangle', pointRadius: 7, yAxisID: 'faults', label: 'injected',
      data: fired.map(i => ({ x: i.at / 1000, y: 1, note: i.id + ': ' + i.words + ', ' + i.outcome })) });
    sets.push({ ...look(3), showLine: false, pointStyle: 'rect', pointRadius: 6, yAxisID: 'faults', label: 'caught',
      data: fired.filter(i => i.detect !== null).map(i => ({ x: (i.at + i.detect) / 1000, y: 0, note: i.id + ' caught by: ' + i.by })) });
    const options = common();
    options.parsing = false;
    options.scales = { ...scales, x: axis('s', { type: 'linear', min: 0, max: end, ticks: { maxRotation: 0, callback: v => +v.toFixed(3) } }) };
    options.plugins.legend.display = false;
    options.plugins.tooltip.callbacks = {
      title: items => items.length ? items[0].parsed.x.toFixed(4) + ' s' : '',
      label: item => item.raw.note || item.dataset.label,
    };
    const throughLanes = {
      id: 'throughLanes',
      beforeDatasetsDraw(chart) {
        const { left, right, top, bottom } = chart.chartArea;
        for (const i of fired) {
          const x = chart.scales.x.getPixelForValue(i.at / 1000);
          if (x < left || x > right) continue;
          inkAcross(chart, x, top, bottom, [1, 4]);
          words(chart, String(i.id), x, top + 12, 'center');
        }
      },
    };
    return { type: 'line', data: { datasets: sets }, options, plugins: [throughLanes] };
  }

  function reaction(rows) {
    const options = common();
    options.scales = { x: axis('injection', { offset: true }), y: axis('ms after the injection', { min: 0, suggestedMax: 10 }) };
    const set = (n, label, key) => ({ ...look(n), showLine: false, label, data: rows.map(r => r[key]) });
    return {
      type: 'line', plugins: [endWords], options,
      data: {
        labels: rows.map(r => r.id + ' ' + r.error),
        datasets: [
          { ...inkLine(), label: 'allowed until the machine stands', stepped: 'middle', data: rows.map(r => r.allowed), spanGaps: true,
            pointStyle: 'line', endWords: rows.some(r => r.allowed !== null) ? 'allowed' : '' },
          set(1, 'machine still', 'still'), set(2, 'both ends safe', 'safe'), set(3, 'caught', 'caught'),
        ],
      },
    };
  }

  function watchdog(found) {
    const above = found.points.flatMap(p => [p[1], p[2], p[3]]).filter(v => v > 0).concat(found.limit);
    const floor = 10 ** (Math.floor(Math.log10(Math.min(...above))) - 1), top = 10 ** (Math.ceil(Math.log10(Math.max(...above))) + 1);
    const onAxis = v => v === null ? null : Math.max(v, floor);
    const xs = found.points.map(p => p[0]), first = Math.min(...xs), last = Math.max(...xs);
    const sets = [
      { ...look(1), label: 'stops for nothing a year', yAxisID: 'y', data: found.points.map(p => ({ x: p[0], y: onAxis(p[1]), none: p[1] === 0 })),
        pointBackgroundColor: found.points.map(p => p[1] > 0 ? colour('line1') : colour('sheet')) },
      { ...inkLine(), label: 'limit, ' + found.limit + ' a year', endWords: 'limit ' + found.limit + ' a year', yAxisID: 'y', pointStyle: 'line',
        data: [{ x: first, y: found.limit }, { x: last, y: found.limit }] },
    ];
    const interval = found.points.filter(p => p[3] !== null && p[3] > 0 && p[3] > p[2]);
    if (interval.length)
      sets.push({ ...look(1), type: 'line', label: 'at most', borderDash: [2, 3], pointRadius: 3, pointStyle: 'line', yAxisID: 'y', borderWidth: 1,
        data: interval.map(p => ({ x: p[0], y: onAxis(p[3]) })) });
    const needed = found.points.filter(p => p[4] !== null);
    const options = common();
    options.parsing = false;
    options.scales = {
      x: axis('watchdog, ms', { type: 'linear', min: first, max: last }),
      y: axis('stops a year', { type: 'logarithmic', min: floor, max: top,
        ticks: { callback: v => v <= floor * 1.0001 ? 'none' : powerOfTen(v) } }),
    };
    if (needed.length) {
      sets.push({ ...look(2), label: 'distance needed, mm', yAxisID: 'mm', data: needed.map(p => ({ x: p[0], y: p[4] })) });
      if (found.there !== null)
        sets.push({ ...inkLine(), borderDash: [6, 4], label: 'distance there, ' + found.there + ' mm', endWords: 'there ' + found.there + ' mm',
          yAxisID: 'mm', pointStyle: 'line', data: [{ x: first, y: found.there }, { x: last, y: found.there }] });
      options.scales.mm = axis('mm', { type: 'linear', position: 'right', min: 0, grid: { drawOnChartArea: false } });
    }
    const plugins = [endWords, {
      id: 'now',
      afterDatasetsDraw(chart) {
        if (found.now === null || found.now < first || found.now > last) return;
        const x = chart.scales.x.getPixelForValue(found.now), { top: up, bottom } = chart.chartArea;
        inkAcross(chart, x, up, bottom, [2, 3]);
        words(chart, 'set to ' + found.now + ' ms', x - 4, up + 14, 'right');
      },
    }];
    if (found.window) {
      const from = Math.max(first, found.window.from_ms), to = Math.min(last, found.window.to_ms === null ? last : found.window.to_ms);
      plugins.push({
        id: 'usable',
        beforeDatasetsDraw(chart) {
          const { top: up, bottom } = chart.chartArea, x = v => chart.scales.x.getPixelForValue(v);
          chart.ctx.save();
          chart.ctx.fillStyle = hatching('edge');
          chart.ctx.globalAlpha = 0.55;
          chart.ctx.fillRect(x(from), up, x(to) - x(from), bottom - up);
          chart.ctx.restore();
          inkAcross(chart, x(from), up, bottom);
          inkAcross(chart, x(to), up, bottom);
        },
        afterDatasetsDraw(chart) {
          const x = v => chart.scales.x.getPixelForValue(v), low = chart.chartArea.bottom - 8;
          words(chart, 'usable from ' + found.window.from_ms + ' ms', x(from) + 4, low, 'left');
          if (found.window.to_ms !== null) words(chart, 'to ' + found.window.to_ms + ' ms', x(to) - 4, low - 20, 'right');
        },
      });
    }
    return { type: 'line', data: { datasets: sets }, options, plugins };
  }

  function residual(rows) {
    const options = common();
    options.parsing = false;
    const log = title => axis(title, { type: 'logarithmic', ticks: { callback: powerOfTen, autoSkip: false, maxRotation: 0 }, grid: { color: c => powerOfTen(c.tick.value) ? colour('hair') : 'transparent' } });
    options.scales = { x: log('bit error rate p'), y: log('residual error R') };
    // a tick each power would be too many: every so-manyth
    for (const scale of [options.scales.x, options.scales.y])
      scale.afterBuildTicks = a => {
        const powers = a.ticks.filter(t => powerOfTen(t.value)), step = Math.ceil(powers.length / 8);
        a.ticks = powers.filter((_, i) => i % step === 0);
      };
    const of = (n, label, column) => ({ ...look(n), label, data: rows.filter(r => r[column] > 0).map(r => ({ x: r[0], y: r[column] })) });
    const exact = rows.some(r => r[1] !== null);
    const sets = exact ? [of(1, 'exact', 1)] : [of(1, 'at most', 4), of(4, 'at least', 3)];
    sets.push(of(2, 'customary estimate by 2^-r', 2));
    return { type: 'line', data: { datasets: sets }, options };
  }

  function methods(rows) {
    const known = rows.filter(r => r[1] > 0), share = (rows.find(r => r[2] > 0) || [])[2];
    const options = common();
    options.indexAxis = 'y';
    const all = known.map(r => r[1]).concat(share || []);
    const low = 10 ** (Math.floor(Math.log10(Math.min(...all))) - 1), high = 10 ** (Math.ceil(Math.log10(Math.max(...all))) + 1);
    options.scales = {
      x: axis('undetected errors an hour', { type: 'logarithmic', min: low, max: high, ticks: { callback: powerOfTen, maxRotation: 0 } }), y: axis(''),
    };
    options.plugins.legend.display = false;
    const shareLine = {
      id: 'shareLine',
      afterDatasetsDraw(chart) {
        if (!share) return;
        const x = chart.scales.x.getPixelForValue(share);
        inkAcross(chart, x, chart.chartArea.top, chart.chartArea.bottom);
        words(chart, 'share ' + share, x + 6, chart.chartArea.top + 14, 'left');
      },
    };
    return {
      type: 'bar', options, plugins: [shareLine],
      data: {
        labels: known.map(r => r[0] + (r[3] === null ? '' : r[3] ? ': met' : ': NOT MET')),
        datasets: [{ label: 'rate an hour', data: known.map(r => r[1]), maxBarThickness: 34, borderWidth: 2,
          borderColor: known.map(r => colour(r[3] === false ? 'line4' : 'line1')),
          backgroundColor: known.map(r => r[3] === false ? hatching('line4') : colour('line1')) }],
      },
    };
  }

  const makers = { timeline: timeLine, reaction, watchdog, residual, methods };
  function draw() {
    for (const chart of charts.values()) chart.destroy();
    charts.clear();
    Chart.defaults.font.family = 'system-ui, sans-serif';
    Chart.defaults.font.size = 13;
    for (const canvas of document.querySelectorAll('canvas[data-chart]')) {
      const name = canvas.dataset.chart;
      if (!data[name]) continue;
      charts.set(name, new Chart(canvas, makers[name](data[name], canvas.parentElement.clientWidth < 700)));
    }
    if (charts.has('timeline')) show(view.from, view.to);
  }

  // ---- the time line moves in and along ----
  const whole = data.timeline ? data.timeline.duration / 1000 : 1;
  const view = { from: 0, to: whole };
  const shortest = 0.002;
  function show(from, to) {
    const wide = Math.min(whole, Math.max(shortest, to - from));
    view.from = Math.min(Math.max(0, from), whole - wide);
    view.to = view.from + wide;
    const chart = charts.get('timeline');
    chart.options.scales.x.min = view.from;
    chart.options.scales.x.max = view.to;
    chart.update('none');
    const seen = data.timeline.injections.filter(i => i.at !== null && i.at / 1000 >= view.from && i.at / 1000 <= view.to);
    document.getElementById('says-timeline').textContent =
      'Shown: ' + view.from.toFixed(3) + ' s to ' + view.to.toFixed(3) + ' s of ' + whole + ' s. ' +
      (seen.length === 1 ? 'Injection ' + seen[0].id + ': ' + seen[0].words + ', ' + seen[0].outcome + '.'
        : seen.length + ' injections.');
  }
  const scaled = (factor, at) => {
    const middle = at === undefined ? (view.from + view.to) / 2 : at;
    show(middle - (middle - view.from) * factor, middle + (view.to - middle) * factor);
  };
  const moved = share => show(view.from + share * (view.to - view.from), view.to + share * (view.to - view.from));
  let current = -1;
  function injection(step) {
    const fired = data.timeline.injections.filter(i => i.at !== null);
    if (!fired.length) return;
    current = Math.min(fired.length - 1, Math.max(0, current + step));
    const at = fired[current].at / 1000;
    show(at - 0.1, at + 0.9);
  }
  const acts = {
    in: () => scaled(0.5), out: () => scaled(2), left: () => moved(-0.25), right: () => moved(0.25),
    previous: () => injection(-1), next: () => injection(1), all: () => { current = -1; show(0, whole); },
  };
  const keys = { '+': acts.in, '=': acts.in, '-': acts.out, ArrowLeft: acts.left, ArrowRight: acts.right, PageUp: () => moved(-1), PageDown: () => moved(1),
    Home: () => show(0, view.to - view.from), End: acts.all };
  for (const button of document.querySelectorAll('button[data-for="timeline"]'))
    button.addEventListener('click', () => acts[button.dataset.act]());
  const canvas = document.querySelector('canvas[data-chart="timeline"]');
  if (canvas && data.timeline) {
    canvas.addEventListener('keydown', event => {
      const act = keys[event.key];
      if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      act();
    });
    // the wheel belongs to the page unless Ctrl is held
    canvas.addEventListener('wheel', event => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      const area = charts.get('timeline').chartArea;
      const at = view.from + (event.offsetX - area.left) / (area.right - area.left) * (view.to - view.from);
      scaled(event.deltaY > 0 ? 1.25 : 0.8, at);
    }, { passive: false });
    let held = null;
    canvas.addEventListener('pointerdown', event => { held = { x: event.clientX, from: view.from, to: view.to }; canvas.setPointerCapture(event.pointerId); });
    canvas.addEventListener('pointermove', event => {
      if (!held) return;
      const area = charts.get('timeline').chartArea;
      const by = (held.x - event.clientX) / (area.right - area.left) * (held.to - held.from);
      show(held.from + by, held.to + by);
    });
    for (const over of ['pointerup', 'pointercancel']) canvas.addEventListener(over, () => { held = null; });
  }

  // ---- screen, paper, light and dark ----
  draw();
  window.linkdrillCharts = charts;
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', draw);
  window.addEventListener('beforeprint', () => { document.documentElement.classList.add('on-paper'); draw(); });
  window.addEventListener('afterprint', () => { document.documentElement.classList.remove('on-paper'); draw(); });
})();
