// Drafts: what the maker can change, as plain values that are never changed in place.
//
// A path names one field: "chart.waist_girth", "rows.side_front", "reduction".  A change is [path, before, after].

const GROUPS = ["chart", "rows"];

export function valueAt(draft, path) {
  const [group, key] = parted(path);
  return key === null ? draft[group] ?? null : draft[group][key] ?? null;
}

/** The draft with one field set; null takes a reading or a decision out. */
export function withValue(draft, path, value) {
  const [group, key] = parted(path);
  if (key === null) return { ...draft, [group]: value };
  const fields = { ...draft[group], [key]: value };
  if (value === null) delete fields[key];
  return { ...draft, [group]: fields };
}

export function isSame(a, b) {
  return JSON.stringify(a ?? null) === JSON.stringify(b ?? null);
}

/** Every change that leads from one draft to the other. */
export function changesBetween(before, after) {
  return pathsOf(before, after)
    .map((path) => [path, valueAt(before, path), valueAt(after, path)])
    .filter(([, old, young]) => !isSame(old, young));
}

export function applied(draft, changes) {
  return changes.reduce((made, [path, , after]) => withValue(made, path, after), draft);
}

export function takenBack(draft, changes) {
  return changes.reduceRight((made, [path, before]) => withValue(made, path, before), draft);
}

/** Fields that either side changed since both began: what each has, and whether both changed it differently. */
export function threeWays(origin, mine, theirs) {
  const paths = new Set([...changesBetween(origin, mine), ...changesBetween(origin, theirs)].map(([path]) => path));
  return [...paths].map((path) => {
    const [began, own, other] = [origin, mine, theirs].map((draft) => valueAt(draft, path));
    const changedHere = !isSame(began, own);
    const changedThere = !isSame(began, other);
    return { path, began, own, other, clashes: changedHere && changedThere && !isSame(own, other), changedHere, changedThere };
  });
}

function parted(path) {
  const dot = path.indexOf(".");
  const group = dot < 0 ? path : path.slice(0, dot);
  return GROUPS.includes(group) ? [group, path.slice(dot + 1)] : [path, null];
}

function pathsOf(...drafts) {
  const paths = new Set();
  for (const draft of drafts) {
    for (const field of Object.keys(draft)) {
      if (!GROUPS.includes(field)) paths.add(field);
      else for (const key of Object.keys(draft[field])) paths.add(`${field}.${key}`);
    }
  }
  return [...paths];
}
