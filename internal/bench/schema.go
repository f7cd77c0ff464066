package bench

// InputSchema is the JSON Schema (2020-12) of what the calculator takes, for an
// interface's description. Numbers may be numbers in the unit of the key or text
// that brings its own unit; the calculator itself is the judge of both.
func (c *Calculator) InputSchema() map[string]any {
	properties := map[string]any{
		overrule: map[string]any{"type": "string", "minLength": 10, "maxLength": 1000, "description": "words that overrule a stop; they are kept with the result"},
	}
	var required []string
	for i := range c.Inputs {
		in := &c.Inputs[i]
		in.describe(properties)
		if in.Required {
			required = append(required, in.Key)
		}
	}
	schema := map[string]any{"type": "object", "title": c.Title, "description": c.Purpose, "properties": properties, "additionalProperties": false}
	if len(required) > 0 {
		schema["required"] = required
	}
	return schema
}

// describe adds the input, and its ± if it takes one, to an object's properties.
func (in *Input) describe(properties map[string]any) {
	properties[in.Key] = in.schema()
	if in.takesPlus() {
		properties[in.Key+plus] = map[string]any{
			"type": []string{"number", "string"}, "minimum": 0, "maximum": in.Max - in.Min,
			"description": "± of " + in.Label + ", in the unit of the key",
		}
	}
}

func (in *Input) schema() map[string]any {
	s := map[string]any{"description": in.described()}
	if in.Default != "" {
		s["default"] = in.Default
	}
	switch in.Kind {
	case Option:
		values := make([]string, len(in.Options))
		for i, o := range in.Options {
			values[i] = o.Value
		}
		s["enum"] = values
	case YesNo:
		s["type"] = []string{"string", "boolean"}
	case Text:
		s["type"], s["maxLength"] = "string", 200
	case Date:
		s["type"], s["format"] = "string", "date"
	case List:
		s["type"], s["minItems"], s["maxItems"] = []string{"array", "string"}, in.MinRows, in.MaxRows
		s["items"] = map[string]any{"type": "number", "minimum": in.Min, "maximum": in.Max}
	case Table:
		columns := map[string]any{}
		var required []string
		for i := range in.Columns {
			in.Columns[i].describe(columns)
			if in.Columns[i].Required {
				required = append(required, in.Columns[i].Key)
			}
		}
		s["type"], s["minItems"], s["maxItems"] = []string{"array", "string"}, in.MinRows, in.MaxRows
		s["items"] = map[string]any{"type": "object", "properties": columns, "required": required, "additionalProperties": false}
	default:
		s["type"], s["minimum"], s["maximum"] = []string{"number", "string"}, in.Min, in.Max
	}
	return s
}

// described is the label with its unit and its help, in one line.
func (in *Input) described() string {
	text := in.Label
	if in.Unit.Symbol != "" {
		text += ", " + in.Unit.Symbol
	}
	if in.Help != "" {
		text += ": " + in.Help
	}
	return text
}
