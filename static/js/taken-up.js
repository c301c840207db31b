// Keys can be faster than htmx, which takes up new parts of a page a moment after showing them: a link or form that it
// does not know yet would load the whole page anew. This makes it known at once; knowing it already changes nothing.

export function takenUp(element) {
  window.htmx.process(element);
  return element;
}
