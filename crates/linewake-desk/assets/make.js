// An element with properties and children; text is never read as markup.
export function make(name, properties = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(properties)) {
    if (value === null || value === undefined) continue;
    if (key in element && key !== 'list' && key !== 'role') element[key] = value;
    else element.setAttribute(key, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

const SVG = 'http://www.w3.org/2000/svg';

// The same for a drawing; `text` is what it says.
export function draw(name, attributes = {}, text = undefined) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text !== undefined) element.textContent = text;
  return element;
}
