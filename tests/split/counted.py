"""A module whose functions note that they have run: each sets a global of its own, exported as `~`
and the function's number. WebAssembly Core, chapter 5, for the module's bytes."""

IMPORTS, GLOBALS, EXPORTS, CODE = 2, 6, 7, 10


def number(data, at):
    value = shift = 0
    while True:
        byte = data[at]
        at += 1
        value |= (byte & 127) << shift
        shift += 7
        if byte < 128:
            return value, at


def written(value):
    out = bytearray()
    while value > 127:
        out.append(value & 127 | 128)
        value >>= 7
    return bytes([*out, value])


def sections(module):
    at = 8
    while at < len(module):
        section = module[at]
        length, at = number(module, at + 1)
        yield section, module[at:at + length]
        at += length


def counted(module):
    """The module that notes what has run, and how many functions it imports."""
    parts = dict(sections(module))
    imported = number(parts[IMPORTS], 0)[0]
    own, _ = number(parts[CODE], 0)
    globals_, after_count = number(parts[GLOBALS], 0)
    parts[GLOBALS] = written(globals_ + own) + parts[GLOBALS][after_count:] + b"\x7f\x01\x41\x00\x0b" * own
    exports, after_count = number(parts[EXPORTS], 0)
    added = []
    for function in range(own):
        name = b"~%d" % (imported + function)
        added.append(written(len(name)) + name + b"\x03" + written(globals_ + function))
    parts[EXPORTS] = written(exports + own) + parts[EXPORTS][after_count:] + b"".join(added)
    code, at = bytearray(written(own)), number(parts[CODE], 0)[1]
    for function in range(own):
        length, at = number(parts[CODE], at)
        body = parts[CODE][at:at + length]
        at += length
        groups, start = number(body, 0)
        for _ in range(groups):
            start = number(body, start)[1] + 1
        noted = body[:start] + b"\x41\x01\x24" + written(globals_ + function) + body[start:]
        code += written(len(noted)) + noted
    parts[CODE] = bytes(code)
    out = bytearray(module[:8])
    for section, _ in sections(module):
        out.append(section)
        out += written(len(parts[section])) + parts[section]
    return bytes(out)
