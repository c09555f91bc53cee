"""A Modbus slave that others wrote: `rtu PATH` or `tcp PORT`, then the registers as JSON: {"unit": {"3": [words], "4": [words]}}."""

import asyncio
import json
import sys

from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.server.async_io import ModbusSerialServer, ModbusTcpServer
from pymodbus.transaction import ModbusRtuFramer, ModbusSocketFramer

kind, place, registers = sys.argv[1], sys.argv[2], json.loads(sys.argv[3])


def table(words):
    return ModbusSequentialDataBlock(0, words)


units = {
    int(unit): ModbusSlaveContext(hr=table(words["3"]), ir=table(words["4"]), zero_mode=True)
    for unit, words in registers.items()
}
context = ModbusServerContext(slaves=units, single=False)


async def serve():
    if kind == "rtu":
        server = ModbusSerialServer(context, framer=ModbusRtuFramer, port=place, baudrate=9600, ignore_missing_slaves=True)
        await server.start()
        print("serving", file=sys.stderr, flush=True)
        await server.serve_forever()
    else:
        server = ModbusTcpServer(context, framer=ModbusSocketFramer, address=("127.0.0.1", int(place)))
        asyncio.get_running_loop().call_later(0.3, lambda: print("serving", file=sys.stderr, flush=True))
        await server.serve_forever()


asyncio.run(serve())
