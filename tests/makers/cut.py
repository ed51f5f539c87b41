"""A way between a seat and a PostgreSQL server that can be cut at any message, on either side of it."""

import socket
import ssl
import threading  # noqa: TID251 - of a test's own making
from collections.abc import Callable
from types import TracebackType
from typing import Self
from urllib.parse import parse_qs, urlsplit

#: "PostgreSQL manual", "Message Formats", SSLRequest: length 8, code 80877103.
_SSL_REQUEST = (8).to_bytes(4, "big") + (80877103).to_bytes(4, "big")


class Way:
    """Listens on this machine and hands on what a seat and the server say to each other.

    Attributes
    ----------
    sent
        How many portions the seat has sent since `watch`.
    """

    def __init__(self, address: str, context: ssl.SSLContext | None = None) -> None:
        """Listen for seats of a server.

        Parameters
        ----------
        address
            Of the server, by its socket.
        context
            With it, the way is encrypted on the seat's side.
        """
        self._context = context
        self.ciphers: list[str] = []
        folder = parse_qs(urlsplit(address).query)["host"][0]
        self._socket = f"{folder}/.s.PGSQL.5432"
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._before: Callable[[int], bool] = lambda _number: True
        self._words: list[bytes] = []
        self._drops_answer_to = 0
        self._is_open = True
        self._pairs: list[tuple[socket.socket, socket.socket]] = []
        self.sent = 0
        threading.Thread(target=self._take_in, daemon=True).start()

    @property
    def port(self) -> int:
        """Where it listens."""
        return int(self._listener.getsockname()[1])

    def watch(
        self, before: Callable[[int], bool] = lambda _number: True, *, drops_answer_to: int = 0
    ) -> None:
        """Count anew what the seat sends.

        Parameters
        ----------
        before
            Called with the number of a portion before it is handed on; if it returns False, the way is cut.
        drops_answer_to
            The portion that reaches the server and whose answer does not reach the seat: there it is cut.
        """
        self._before, self._drops_answer_to, self.sent = before, drops_answer_to, 0
        self._words = []

    def drop_answer_after(self, *words: bytes) -> None:
        """Cut the way at the answer to the portion with the last of some words, which come in order."""
        self.watch()
        self._words = list(words)

    def shut(self) -> None:
        """Let nobody through until `reopen`, as when a server is down; what is open is cut."""
        self._is_open = False
        for pair in self._pairs:
            _cut(*pair)

    def reopen(self) -> None:
        """Let everybody through again."""
        self._is_open = True

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.shut()
        self._listener.close()

    def _take_in(self) -> None:
        while True:
            try:
                seat, _where = self._listener.accept()
            except OSError:
                return
            if not self._is_open:
                seat.close()
                continue
            threading.Thread(target=self._let_in, args=(seat,), daemon=True).start()

    def _let_in(self, seat: socket.socket) -> None:
        if self._context is not None:
            try:
                seat = self._encrypted(seat, self._context)
            except OSError:
                seat.close()
                return
        server = socket.socket(socket.AF_UNIX)
        server.connect(self._socket)
        self._pairs.append((seat, server))
        threading.Thread(target=self._bring_back, args=(seat, server), daemon=True).start()
        self._hand_on(seat, server)

    def _encrypted(self, seat: socket.socket, context: ssl.SSLContext) -> socket.socket:
        """Answer a seat that asks for encryption (PostgreSQL manual, "SSL Session Encryption")."""
        while (asked := seat.recv(8)) != _SSL_REQUEST:
            if not asked:
                raise ConnectionError
            seat.sendall(b"N")
        seat.sendall(b"S")
        encrypted = context.wrap_socket(seat, server_side=True)
        self.ciphers.append(str(encrypted.cipher()))
        return encrypted

    def _hand_on(self, seat: socket.socket, server: socket.socket) -> None:
        while portion := _received(seat):
            self.sent += 1
            if not self._before(self.sent):
                break
            while self._words and self._words[0] in portion:
                del self._words[0]
                if not self._words:
                    self._drops_answer_to = self.sent
            try:
                server.sendall(portion)
            except OSError:
                break
        _cut(seat, server)

    def _bring_back(self, seat: socket.socket, server: socket.socket) -> None:
        while portion := _received(server):
            if self._drops_answer_to and self.sent >= self._drops_answer_to:
                break
            try:
                seat.sendall(portion)
            except OSError:
                break
        _cut(seat, server)


def _received(one: socket.socket) -> bytes:
    try:
        return one.recv(1 << 20)
    except OSError:
        return b""


def _cut(*sockets: socket.socket) -> None:
    for one in sockets:
        try:
            one.shutdown(socket.SHUT_RDWR)
        except OSError:
            continue
        finally:
            one.close()
