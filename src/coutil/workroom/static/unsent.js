// What could not be sent because the program was away: held in this browser until it is back, and no longer.
//
// Every piece names the book of records, the order and the window it belongs to.  What belongs to another book is left
// alone; what belongs to an order that is no longer there, because its client was erased, goes.

const NAME = "coutil-unsent";
const HELD_DAYS = 30;

/** Everything held, as {book, order, window, at, state}. */
export async function held() {
  const database = await opened();
  if (!database) return [];
  return answer(database.transaction("unsent").objectStore("unsent").getAll());
}

export async function hold(book, order, window, state) {
  const database = await opened();
  if (!database) throw new Error("This browser keeps nothing.");
  const transaction = database.transaction("unsent", "readwrite");
  transaction.objectStore("unsent").put({ book, order, window, at: Date.now(), state }, [book, order, window]);
  await done(transaction);
}

export async function letGo(book, order, window) {
  const database = await opened();
  if (!database) return;
  const transaction = database.transaction("unsent", "readwrite");
  transaction.objectStore("unsent").delete([book, order, window]);
  await done(transaction);
}

/** Let go of what belongs to orders that are no longer in this book, and of what nobody came back for. */
export async function sweep() {
  const pieces = await held();
  if (!pieces.length) return;
  const orders = [...new Set(pieces.map(({ order }) => order))];
  const asked = await fetch(`/api/orders/known?ids=${orders.join(",")}`, { credentials: "same-origin" });
  if (!asked.ok) return;
  const { book, orders: known } = await asked.json();
  const isOver = (piece) => (piece.book === book && !known.includes(Number(piece.order))) || Date.now() - piece.at > HELD_DAYS * 864e5;
  for (const piece of pieces.filter(isOver)) await letGo(piece.book, piece.order, piece.window);
}

async function opened() {
  // Before version 2 whole drafts were kept here, without the name of their book: they are of no use, and go.
  try {
    indexedDB.deleteDatabase("coutil-alteration");
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore("unsent");
    return await answer(request);
  } catch {
    return null;
  }
}

function answer(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function done(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onerror = () => reject(transaction.error);
  });
}
