# Prints the events of files: "file", then for each track "track" and a line "tick hexbytes" for
# each event; or "error" and what is wrong.
import sys
import mido

for path in sys.argv[1:]:
    print("file")
    try:
        file = mido.MidiFile(path)
    except Exception as error:
        print("error", type(error).__name__, str(error).replace("\n", " "))
        continue
    for track in file.tracks:
        print("track")
        tick = 0
        for message in track:
            tick += message.time
            if message.type == "unknown_meta":
                length = mido.midifiles.meta.encode_variable_int(len(message.data))
                data = [0xFF, message.type_byte] + length + list(message.data)
            else:
                data = message.bytes()
            print(tick, bytes(data).hex())
