namespace CashEvents.Page.Naming;

/// <summary>Tells lines in the household's words.</summary>
public static class Wording
{
    /// <summary>What was written beside a line, or what it was where nothing was.</summary>
    public static string What(IDatedEvent line) => line switch
    {
        CountTaken count => count.Difference == Money.Zero ? Texts.CountedAgrees
            : count.Difference > Money.Zero ? Texts.CountedOver : Texts.CountedShort,
        { Description.Length: > 0 } => line.Description,
        _ => Kind(line),
    };

    /// <summary>What kind of line it is.</summary>
    public static string Kind(IBookEvent line) =>
        Texts.ResourceManager.GetString("Kind_" + LineKinds.Of(line), Texts.Culture) ?? LineKinds.Of(line);

    /// <summary>What else there is to say of a line on a compartment's leaf.</summary>
    public static IEnumerable<string> Notes(IDatedEvent line, string compartment, Phone phone, Shown shown)
    {
        if (line is IMovement movement)
        {
            var postings = movement.Postings.ToList();
            var own = postings.Where(p => p.Place.Compartment == compartment).ToList();
            var other = postings.Find(p => p.Place.Compartment != compartment).Place.Compartment;
            if (own.Count == 2)
            {
                yield return own[0].Place.Holding == Holding.Cash ? Texts.ToBank : Texts.FromBank;
            }
            else if (own is [{ Place.Holding: Holding.Bank }])
            {
                yield return Texts.Bank;
            }

            if (other is not null && line is Transferred or Swept)
            {
                yield return string.Format(own is [{ Amount.Minor: > 0 }, ..] ? Texts.From : Texts.To,
                    Label(phone, other));
            }

            if (movement.Kind is MovementKind.Refund)
            {
                yield return Texts.CameBackFromSeller;
            }

            if (movement.Corrects is { ClosedDay: { } closed })
            {
                yield return string.Format(Texts.CorrectsClosed, closed.ToString("O"));
            }
        }

        if (shown.Line.By != phone.Holder!.Name)
        {
            yield return shown.Line.By;
        }
    }

    /// <summary>What is written on a compartment.</summary>
    public static string Label(Phone phone, string compartment) =>
        phone.Book!.Compartments.GetValueOrDefault(compartment)?.Label ?? compartment;
}
