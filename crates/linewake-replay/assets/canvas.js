// Elements, canvases that fit the screen, and the colours and patterns that are drawn with.

export function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value !== null && value !== undefined) element.setAttribute(key, value);
  }
  element.append(...children);
  return element;
}

export function canvasIn(parent, name) {
  const canvas = make('canvas', { class: name, 'aria-hidden': 'true' });
  parent.append(canvas);
  return canvas;
}

// Sizes a canvas for the screen and gives its context in CSS pixels.
export function contextOf(canvas, width, height) {
  const ratio = window.devicePixelRatio || 1;
  const [w, h] = [Math.max(1, Math.round(width * ratio)), Math.max(1, Math.round(height * ratio))];
  if (canvas.width !== w || canvas.height !== h) {
    canvas.width = w;
    canvas.height = h;
    canvas.style.width = `${width}px`;
    canvas.style.height = `${height}px`;
  }
  const context = canvas.getContext('2d');
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.clearRect(0, 0, width, height);
  return context;
}

// Colours come from the style sheet.
export function coloursOf(element) {
  const style = getComputedStyle(element);
  const colour = (name) => style.getPropertyValue(`--replay-${name}`).trim() || '#333333';
  const names = ['text', 'quiet', 'grid', 'line', 'paper', 'wake', 'wake-line', 'starved', 'blocked', 'stop', 'planned',
    'content', 'content-line', 'product', 'product-line', 'tag', 'pocket'];
  const colours = Object.fromEntries(names.map((name) => [name, colour(name)]));
  colours.font = style.fontFamily;
  return colours;
}

export function hatch(context, colour) {
  const tile = document.createElement('canvas');
  tile.width = 6;
  tile.height = 6;
  const pen = tile.getContext('2d');
  pen.strokeStyle = colour;
  pen.lineWidth = 1.6;
  pen.beginPath();
  for (const shift of [-6, 0, 6]) {
    pen.moveTo(shift, 6);
    pen.lineTo(shift + 6, 0);
  }
  pen.stroke();
  return context.createPattern(tile, 'repeat');
}
