// The saved page: lessons that were run beforehand.
import { mountLessons } from '/lessons.js';

const read = (id) => JSON.parse(document.getElementById(id).textContent);
const results = new Map(read('results').map((found) => [found.id, found]));
mountLessons(document.getElementById('lessons'), read('data'), {
  isSaved: true,
  run: async (id) => results.get(id),
});
