"""Commands that take their arguments as one value: a dataclass of which each field is an option."""

from __future__ import annotations

import dataclasses
import inspect
from typing import TYPE_CHECKING, Any, TypeVar, get_type_hints

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["takes"]

T = TypeVar("T")


def takes(of: type[T]) -> Callable[[Callable[[T], None]], Callable[..., None]]:
    """Make a function of one dataclass a command whose options are that class's fields.

    What the command line reads is the signature: here one parameter a field, with its annotation
    and default.
    """

    def made(command: Callable[[T], None]) -> Callable[..., None]:
        def run(**given: Any) -> None:  # noqa: ANN401 - as the command line gives them
            command(of(**given))

        hints = get_type_hints(of, include_extras=True)
        parameters = [
            inspect.Parameter(
                field.name,
                inspect.Parameter.KEYWORD_ONLY,
                default=inspect.Parameter.empty
                if field.default is dataclasses.MISSING
                else field.default,
                annotation=hints[field.name],
            )
            for field in dataclasses.fields(of)  # type: ignore[arg-type]
        ]
        run.__name__, run.__doc__ = command.__name__, command.__doc__
        run.__annotations__ = {one.name: one.annotation for one in parameters}
        run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
        return run

    return made
