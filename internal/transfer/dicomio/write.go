package dicomio

import (
	"bytes"
	"encoding/binary"
)

// Bytes writes f as explicit VR little endian with defined lengths. What was
// read as unknown is written as unknown, byte for byte.
func (f *File) Bytes() []byte {
	meta := Dataset{}
	for _, e := range f.Meta {
		switch e.Tag {
		case 0x00020000:
			continue // the group's length is written anew
		case 0x00020010:
			e.Value = []byte(ExplicitLittle + "\x00")
		}
		meta = append(meta, e)
	}
	body := appendDataset(nil, meta)
	var b bytes.Buffer
	b.Write(make([]byte, 128))
	b.WriteString("DICM\x02\x00\x00\x00UL\x04\x00")
	b.Write(binary.LittleEndian.AppendUint32(nil, uint32(len(body))))
	b.Write(body)
	b.Write(appendDataset(nil, f.Data))
	return b.Bytes()
}

func appendDataset(b []byte, d Dataset) []byte {
	for _, e := range d {
		value := e.Value
		if e.VR == "SQ" {
			value = nil
			for _, item := range e.Items {
				body := appendDataset(nil, item)
				value = append(value, 0xFE, 0xFF, 0x00, 0xE0)
				value = append(binary.LittleEndian.AppendUint32(value, uint32(len(body))), body...)
			}
		}
		b = binary.LittleEndian.AppendUint16(b, uint16(e.Tag>>16))
		b = binary.LittleEndian.AppendUint16(b, uint16(e.Tag))
		switch {
		case !oneOf(longVRs, e.VR) && len(value) > 0xFFFF: // implicit files have longer ones
			b = append(b, "UN\x00\x00"...)
			b = binary.LittleEndian.AppendUint32(b, uint32(len(value)))
		case oneOf(longVRs, e.VR):
			b = append(append(b, e.VR...), 0, 0)
			b = binary.LittleEndian.AppendUint32(b, uint32(len(value)))
		default:
			b = append(b, e.VR...)
			b = binary.LittleEndian.AppendUint16(b, uint16(len(value)))
		}
		b = append(b, value...)
	}
	return b
}
