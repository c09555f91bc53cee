"""Reads registers with pymodbus and prints what it got as JSON: an independent client for the simulated slaves.

Arguments: SECONDS to wait for an answer, rtu PATH | tcp HOST PORT, then UNIT FUNCTION ADDRESS COUNT for each read.
"""
import json
import struct
import sys

from pymodbus.client import ModbusSerialClient, ModbusTcpClient
from pymodbus.pdu import ExceptionResponse


def connect(timeout, words):
    if words[0] == "rtu":
        client = ModbusSerialClient(port=words[1], baudrate=19200, parity="N", timeout=timeout, retries=0)
        return client, words[2:]
    client = ModbusTcpClient(host=words[1], port=int(words[2]), timeout=timeout, retries=0)
    return client, words[3:]


def read(client, unit, function, address, count):
    ask = client.read_holding_registers if function == 3 else client.read_input_registers
    try:
        answer = ask(address, count, slave=unit)
    except Exception as error:  # what the library throws is what we came to see
        return {"error": type(error).__name__}
    if isinstance(answer, ExceptionResponse):
        return {"exception": answer.exception_code}
    if answer.isError():
        return {"error": type(answer).__name__}
    return {"words": answer.registers}


def floats(words):
    """The float that two words make, high word first, and low word first."""
    if words is None or len(words) != 2:
        return None
    return [struct.unpack(">f", struct.pack(">HH", *pair))[0] for pair in (words, words[::-1])]


client, rest = connect(float(sys.argv[1]), sys.argv[2:])
if not client.connect():
    sys.exit("no connection")
results = []
for at in range(0, len(rest), 4):
    unit, function, address, count = (int(word) for word in rest[at : at + 4])
    result = read(client, unit, function, address, count)
    result["floats"] = floats(result.get("words"))
    results.append(result)
client.close()
print(json.dumps(results).replace("NaN", "null"))
