// The photograph: made smaller once, and kept by the browser beside the tracing.

const LARGEST = 1800;

/** Read an image file as {blob, width, height}; no side is longer than 1800 pixels. */
export async function photoOf(file) {
  const bitmap = await createImageBitmap(file);
  const share = Math.min(1, LARGEST / Math.max(bitmap.width, bitmap.height));
  const [width, height] = [bitmap.width, bitmap.height].map((side) => Math.max(1, Math.round(side * share)));
  const canvas = document.createElement("canvas");
  Object.assign(canvas, { width, height });
  canvas.getContext("2d").drawImage(bitmap, 0, 0, width, height);
  const blob = await new Promise((made) => canvas.toBlob(made, "image/jpeg", 0.85));
  return { blob, width, height };
}

export async function keepPhoto(id, photo) {
  const shelf = await opened("readwrite");
  return finished(shelf.put(photo, id));
}

export async function keptPhoto(id) {
  const shelf = await opened("readonly");
  return finished(shelf.get(id));
}

function opened(mode) {
  return new Promise((answer, fail) => {
    const request = indexedDB.open("squeeze", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("photos");
    request.onsuccess = () => answer(request.result.transaction("photos", mode).objectStore("photos"));
    request.onerror = () => fail(request.error);
  });
}

function finished(request) {
  return new Promise((answer, fail) => {
    request.onsuccess = () => answer(request.result);
    request.onerror = () => fail(request.error);
  });
}
