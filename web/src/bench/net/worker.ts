/** The service worker: registered for the bench only, so that the recover page stays outside its control. */
export function keepShell(ready: (takeOver: () => void) => void): void {
  if (!("serviceWorker" in navigator)) return;
  void navigator.serviceWorker.register("/sw.js", { scope: "/bench", updateViaCache: "none" }).then((registration) => {
    const offer = (worker: ServiceWorker | null): void => {
      if (worker && navigator.serviceWorker.controller) ready(() => replace(worker));
    };
    offer(registration.waiting);
    registration.addEventListener("updatefound", () => {
      const { installing } = registration;
      installing?.addEventListener("statechange", () => {
        if (installing.state === "installed") offer(installing);
      });
    });
    setInterval(() => void registration.update().catch(() => undefined), 15 * 60_000);
  }).catch(() => undefined);
}

function replace(worker: ServiceWorker): void {
  navigator.serviceWorker.addEventListener("controllerchange", () => location.reload());
  worker.postMessage("take over");
}
