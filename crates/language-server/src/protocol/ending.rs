//! The end: `shutdown` and `exit`, which the library keeps to itself.

use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::SeqCst};
use std::task::{Context, Poll};
use tokio::io::{AsyncRead, ReadBuf};
use tokio::sync::oneshot;
use tower_lsp::jsonrpc::Request;
use tower_service::Service;

/// Sees `shutdown` and `exit` go by, which the library keeps to itself.
pub struct Watched<S> {
    pub service: S,
    pub shut_down: Arc<AtomicBool>,
    pub ended: Arc<AtomicBool>,
    pub said_exit: Option<oneshot::Sender<()>>,
}

impl<S: Service<Request>> Service<Request> for Watched<S> {
    type Response = S::Response;
    type Error = S::Error;
    type Future = S::Future;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<std::result::Result<(), S::Error>> {
        self.service.poll_ready(context)
    }

    fn call(&mut self, request: Request) -> S::Future {
        match request.method() {
            "shutdown" => self.shut_down.store(true, SeqCst),
            "exit" => {
                self.ended.store(true, SeqCst);
                if let Some(said_exit) = self.said_exit.take() {
                    let _ = said_exit.send(());
                }
            }
            _ => {}
        }
        self.service.call(without_empty_params(request))
    }
}

/// Some clients write `"params": null` or `{}` where there are none. The library refuses that even for `shutdown`.
fn without_empty_params(request: Request) -> Request {
    let stay = request.method() != "shutdown" && request.params().is_some_and(|params| !params.is_null());
    if stay {
        return request;
    }
    let (method, id, _) = request.into_parts();
    let request = Request::build(method);
    match id {
        Some(id) => request.id(id).finish(),
        None => request.finish(),
    }
}

/// Input that ends after `exit`, so that the library stops by itself though the client leaves its end open.
pub struct UntilExit<I> {
    pub input: I,
    pub ended: Arc<AtomicBool>,
}

impl<I: AsyncRead + Unpin> AsyncRead for UntilExit<I> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<std::io::Result<()>> {
        if self.ended.load(SeqCst) {
            return Poll::Ready(Ok(()));
        }
        Pin::new(&mut self.input).poll_read(context, buffer)
    }
}
