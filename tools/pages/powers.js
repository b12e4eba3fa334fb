// Powers of ten as they are written at the axis of a chart.

const UP = [
  '\u2070',
  '\u00b9',
  '\u00b2',
  '\u00b3',
  '\u2074',
  '\u2075',
  '\u2076',
  '\u2077',
  '\u2078',
  '\u2079',
];

/** @param {number} power such as -3: 10⁻³; near 1 as people write it */
export function power_of_ten(power) {
  if (power >= -2 && power <= 3) return String(10 ** power);
  const digits = [...String(Math.abs(power))].map((digit) => UP[Number(digit)]).join('');
  return `10${power < 0 ? '\u207b' : ''}${digits}`;
}
