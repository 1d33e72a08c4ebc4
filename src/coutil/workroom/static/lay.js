// A lay plan being looked for: its progress comes as events; when it has ended the page shows the plan.

const place = document.querySelector("[data-lay]");

if (place && !("ended" in place.dataset)) {
  const bar = place.querySelector("progress");
  const figures = place.querySelector("[data-figures]");
  const news = new EventSource(`${place.dataset.lay}/progress`);
  news.onmessage = (event) => {
    const now = JSON.parse(event.data);
    bar.value = now.gone;
    const words = now.length ? `${now.length} of cloth, ${now.use} used` : "Laying the first…";
    if (figures.textContent !== words) figures.textContent = words;
    if (now.ended) { news.close(); location.reload(); }
  };
}
