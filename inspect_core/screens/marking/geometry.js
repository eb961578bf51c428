// Plane geometry. A point is [x, y]; unless a name says "screen", in pixels of the upright full-resolution photo.

export const CLOSED = new Set(["box", "polygon", "freehand"]);
export const LEAST_POINTS = { line: 2, box: 2, polyline: 2, polygon: 3, freehand: 3 };

export function clamp(value, low, high) {
  return Math.min(Math.max(value, low), high);
}

export function distance(a, b) {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

export function midpoint(a, b) {
  return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
}

export function onPhoto(point, size) {
  return [clamp(point[0], 0, size.width), clamp(point[1], 0, size.height)];
}

/** Tenths of a pixel: finer than any finger, and half the bytes. */
export function rounded(points) {
  return points.map(([x, y]) => [Math.round(x * 10) / 10, Math.round(y * 10) / 10]);
}

/** The points to draw in order; a box gives its four corners. */
export function outlineOf(shape) {
  if (shape.type !== "box" || shape.points.length < 2) return shape.points;
  const [[x0, y0], [x1, y1]] = shape.points;
  return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
}

export function pathText(shape) {
  const points = outlineOf(shape);
  if (!points.length) return "";
  const text = points.map(([x, y], i) => `${i ? "L" : "M"}${x} ${y}`).join("");
  return CLOSED.has(shape.type) && points.length > 2 ? `${text}Z` : text;
}

export function boundsOf(points) {
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  return { left: Math.min(...xs), top: Math.min(...ys), right: Math.max(...xs), bottom: Math.max(...ys) };
}

function distanceToSegment(p, a, b) {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const length2 = dx * dx + dy * dy;
  const t = length2 ? clamp(((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length2, 0, 1) : 0;
  return distance(p, [a[0] + t * dx, a[1] + t * dy]);
}

export function distanceToOutline(shape, p) {
  const points = outlineOf(shape);
  const last = CLOSED.has(shape.type) ? points.length : points.length - 1;
  let best = Infinity;
  for (let i = 0; i < last; i += 1) {
    best = Math.min(best, distanceToSegment(p, points[i], points[(i + 1) % points.length]));
  }
  return best;
}

/** Even-odd rule; open shapes enclose nothing. */
export function encloses(shape, p) {
  if (!CLOSED.has(shape.type)) return false;
  const points = outlineOf(shape);
  let inside = false;
  for (let i = 0, j = points.length - 1; i < points.length; j = i, i += 1) {
    const [xi, yi] = points[i];
    const [xj, yj] = points[j];
    if (yi > p[1] !== yj > p[1] && p[0] < ((xj - xi) * (p[1] - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}

/** Douglas and Peucker's thinning: no dropped point lies further than `tolerance` from what stays. */
export function thinned(points, tolerance) {
  if (points.length < 3) return points.slice();
  const keep = new Uint8Array(points.length);
  keep[0] = 1;
  keep[points.length - 1] = 1;
  const spans = [[0, points.length - 1]];
  while (spans.length) {
    const [from, to] = spans.pop();
    let worst = tolerance;
    let at = -1;
    for (let i = from + 1; i < to; i += 1) {
      const d = distanceToSegment(points[i], points[from], points[to]);
      if (d > worst) {
        worst = d;
        at = i;
      }
    }
    if (at > 0) {
      keep[at] = 1;
      spans.push([from, at], [at, to]);
    }
  }
  return points.filter((_, i) => keep[i]);
}

/** Thinned until at most `most` points stay, so that one mark stays near a kilobyte. */
export function thinnedTo(points, tolerance, most) {
  let result = thinned(points, tolerance);
  for (let t = tolerance * 1.5; result.length > most; t *= 1.5) result = thinned(points, t);
  return result;
}

/** The shape moved by (dx, dy), held on the photo as a whole. */
export function movedBy(shape, dx, dy, size) {
  const b = boundsOf(shape.points);
  const x = clamp(dx, -b.left, size.width - b.right);
  const y = clamp(dy, -b.top, size.height - b.bottom);
  return { ...shape, points: rounded(shape.points.map((p) => [p[0] + x, p[1] + y])) };
}

/** The shape with corner `index` of its outline at `point`; `reach` is how many neighbours of a freehand outline follow. */
export function withCorner(shape, index, point, reach = 0) {
  if (shape.type === "box") {
    const [a, b] = shape.points;
    const points = [a.slice(), b.slice()];
    points[index === 1 || index === 2 ? 1 : 0][0] = point[0];
    points[index >= 2 ? 1 : 0][1] = point[1];
    return { ...shape, points: rounded(points) };
  }
  const points = shape.points.map((p) => p.slice());
  const dx = point[0] - points[index][0];
  const dy = point[1] - points[index][1];
  const count = points.length;
  for (let step = -reach; step <= reach; step += 1) {
    const at = (index + step + count) % count;
    const share = 1 - Math.abs(step) / (reach + 1);
    points[at] = [shape.points[at][0] + dx * share, shape.points[at][1] + dy * share];
  }
  return { ...shape, points: rounded(points) };
}

/** A box with its first corner upper left, whichever way it was drawn. */
export function tidied(shape) {
  if (shape.type !== "box") return shape;
  const b = boundsOf(shape.points);
  return { ...shape, points: [[b.left, b.top], [b.right, b.bottom]] };
}

/** Whether a finished shape would be too small to mean anything, in photo pixels. */
export function hasNoSize(shape) {
  const b = boundsOf(shape.points);
  const wide = b.right - b.left;
  const high = b.bottom - b.top;
  return shape.type === "box" ? wide < 1 || high < 1 : Math.max(wide, high) < 1;
}
