"""A small machine that runs a structured text function as a general-purpose parser reads it.

blark, a parser of IEC 61131-3 source, does the reading; this runs what it
found, with every number held to the range of its type.  What is not known
here (division among it) is refused.
"""

import contextlib

from blark import transform as st
from blark.parse import parse_source_code

DINT = range(-(2**31), 2**31)
_OPERATIONS = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
    "<": lambda a, b: a < b,
    ">": lambda a, b: a > b,
    "<=": lambda a, b: a <= b,
    ">=": lambda a, b: a >= b,
}
_FUNCTIONS = {
    "DINT_TO_DWORD": lambda value: value % 2**32,
    "DWORD_TO_DINT": lambda bits: (bits + 2**31) % 2**32 - 2**31,
    "SHR": lambda bits, by: bits >> by,
}


class _ReturnError(Exception):
    """RETURN was met."""


class Function:
    """One FUNCTION, ready to be called.

    Parameters
    ----------
    text : str
        Source with exactly one function and comments.
    """

    def __init__(self, text):
        read = parse_source_code(text)
        assert read.exception is None, read.exception
        (self._function,) = read.transform().items
        assert isinstance(self._function, st.Function)
        self.name = str(self._function.name)
        self.constants, self._inputs, self._variables = {}, [], []
        for block in self._function.declarations:
            for item in block.items:
                self._declare(block, item)

    @property
    def code(self):
        """What the parser understood, comments left out."""
        return repr((self.name, self._function.declarations, self._function.body))

    def _declare(self, block, item):
        names = [str(declared.variable.name) for declared in item.variables]
        if isinstance(block, st.InputDeclarations):
            self._inputs += names
        elif isinstance(item, st.ArrayVariableInitDeclaration):
            assert block.attrs == st.VariableAttributes.constant
            (bounds,) = item.init.spec.subranges
            values = list(_array(item.init.value))
            assert int(bounds.start.value) == 0
            assert int(bounds.stop.value) == len(values) - 1
            assert all(value in DINT for value in values)
            self.constants[names[0]] = values
        else:
            assert str(item.init.spec.type) == "DINT"
            self._variables += names

    def __call__(self, *given):
        """Return the function's result."""
        self._values = dict.fromkeys([*self._variables, self.name], 0)
        self._values |= dict(zip(self._inputs, given, strict=True))
        with contextlib.suppress(_ReturnError):
            self._run(self._function.body)
        return self._values[self.name]

    def _run(self, block):
        for statement in block.statements:
            _STATEMENTS[type(statement)](self, statement)

    def _assign(self, statement):
        (variable,) = statement.variables
        name, value = str(variable.name), self._value(statement.expression)
        assert name in self._values
        assert value in DINT
        self._values[name] = value

    def _if(self, statement):
        if self._value(statement.if_expression):
            self._run(statement.statements)
        elif statement.else_clause is not None:
            self._run(statement.else_clause.statements)
        assert not statement.else_ifs

    def _while(self, statement):
        for _ in range(100):
            if not self._value(statement.expression):
                return
            self._run(statement.statements)
        raise AssertionError("a loop does not end")

    def _return(self, _):
        raise _ReturnError

    def _value(self, node):
        return _VALUES[type(node)](self, node)

    def _operation(self, node):
        result = _OPERATIONS[str(node.op)](self._value(node.left), self._value(node.right))
        assert isinstance(result, bool) or result in DINT, "a DINT overflows"
        return result

    def _sign(self, node):
        assert str(node.op) == "-"
        assert -self._value(node.expr) in DINT
        return -self._value(node.expr)

    def _call(self, node):
        given = [self._value(parameter.value) for parameter in node.parameters]
        return _FUNCTIONS[str(node.name.name)](*given)

    def _element(self, node):
        (place,) = node.elements[0].subscripts
        index = self._value(place)
        assert index >= 0
        return self.constants[str(node.name.name)][index]


def _array(node):
    """Numbers of an array, which the parser nests by line."""
    if isinstance(node, st.ArrayInitialElement):
        assert node.count is None
        yield from _array(node.element)
    elif isinstance(node, st.ArrayInitialization):
        for element in node.elements:
            yield from _array(element)
    else:
        yield int(str(node.value))


_STATEMENTS = {
    st.AssignmentStatement: Function._assign,
    st.IfStatement: Function._if,
    st.WhileStatement: Function._while,
    st.ReturnStatement: Function._return,
}
_VALUES = {
    st.Integer: lambda machine, node: int(str(node.value)),
    st.SimpleVariable: lambda machine, node: machine._values[str(node.name)],
    st.ParenthesizedExpression: lambda machine, node: machine._value(node.expr),
    st.BinaryOperation: Function._operation,
    st.UnaryOperation: Function._sign,
    st.FunctionCall: Function._call,
    st.MultiElementVariable: Function._element,
}
