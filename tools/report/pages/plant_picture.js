// The drawing of the plant, with a mark where something was found: what it shows stands in the list
// beside it too.
import { plant_drawing } from '../../pages/plant_drawing.js';

/** @typedef {import('../../pages/plant_parts.js').Part} Part */
/** @typedef {import('./data_shape.js').PlantData} PlantData */

/** What is told of a part. @param {PlantData} plant @param {Part} part */
function told(plant, { kind, at }) {
  const of = {
    safeguard: plant.safeguards,
    link: plant.links,
    station: plant.stations,
    machine: plant.machines,
  };
  return kind === 'controller' ? plant.controller : of[kind][at];
}

/** @param {PlantData} plant @param {number} width */
export const drawn_plant = (plant, width) =>
  plant_drawing(plant.drawing, width, {
    title: 'Drawing of the plant; the list beside it says the same',
    to: (part) => told(plant, part).to,
    words: (part) => told(plant, part).words,
    found: (part) => {
      const { mark, count } = told(plant, part);
      return mark === null ? null : { mark, count };
    },
  });
