// Draws the charts of the report out of the data in the page. Everything that it shows is in a
// table as well.
import { charts, data } from './data.js';
import { draw_pictures, keep_pictures } from './pictures.js';
import { reaction_chart } from './reaction_chart.js';
import { methods_chart, residual_chart } from './residual_charts.js';
import { course_chart, spread_chart } from './round_trip_charts.js';
import { height_of, time_line_chart } from './time_line_chart.js';
import { listen_to_people, show, view } from './time_line_view.js';

const NARROW = 700; // px

/** @type {{ [name: string]: (figures: any, narrow: boolean) => object }} */
const makers = {
  timeline: time_line_chart,
  reaction: reaction_chart,
  residual: residual_chart,
  methods: methods_chart,
  spread: spread_chart,
  course: course_chart,
};

function draw_charts() {
  for (const chart of charts.values()) chart.destroy();
  charts.clear();
  Chart.defaults.font.family = 'system-ui, sans-serif';
  Chart.defaults.font.size = 13;
  for (const canvas of document.querySelectorAll('canvas[data-chart]')) {
    if (!(canvas instanceof HTMLCanvasElement)) continue;
    const name = canvas.dataset.chart ?? '';
    const figures = data[/** @type {keyof typeof data} */ (name)] ?? data.also?.[name];
    if (!figures) continue;
    const narrow = (canvas.parentElement?.clientWidth ?? 0) < NARROW;
    const kind = name.split('-')[0]; // of another link of a cell it is "timeline-2"
    if (kind === 'timeline')
      canvas.parentElement?.style.setProperty(
        '--lanes',
        String(height_of(/** @type {import('./data_shape.js').TimeLine} */ (figures))),
      );
    charts.set(name, new Chart(canvas, makers[kind](figures, narrow)));
  }
  show(view.from, view.to);
}

listen_to_people();
draw_charts();
draw_pictures();
keep_pictures();
window.linkdrillCharts = charts;

// ---- screen, paper, light and dark ----
matchMedia('(prefers-color-scheme: dark)').addEventListener('change', draw_charts);
/** @param {boolean} is */
function on_paper(is) {
  document.documentElement.classList.toggle('on-paper', is);
  draw_charts();
  draw_pictures();
}
window.addEventListener('beforeprint', () => on_paper(true));
window.addEventListener('afterprint', () => on_paper(false));
