namespace CashEvents.Domain.Amounts;

/// <summary>
/// An amount in whole minor units (cents, pence, yen) of the household's one currency. May be negative as a difference.
/// </summary>
/// <param name="Minor">Minor units as ISO 4217 defines them for the currency.</param>
public readonly record struct Money(long Minor) : IComparable<Money>
{
    /// <summary>Nothing.</summary>
    public static Money Zero => default;

    /// <summary>
    /// The largest amount one movement or count may carry: 999,999,999,999 minor units, so that sums of a book stay far
    /// from the limits of 64 bits.
    /// </summary>
    public static Money Largest { get; } = new(999_999_999_999);

    /// <summary>Sum.</summary>
    /// <exception cref="OverflowException">The sum does not fit 64 bits.</exception>
    public static Money operator +(Money left, Money right) => new(checked(left.Minor + right.Minor));

    /// <summary>Difference.</summary>
    /// <exception cref="OverflowException">The difference does not fit 64 bits.</exception>
    public static Money operator -(Money left, Money right) => new(checked(left.Minor - right.Minor));

    /// <summary>The opposite amount.</summary>
    public static Money operator -(Money amount) => new(checked(-amount.Minor));

    /// <summary>Less than.</summary>
    public static bool operator <(Money left, Money right) => left.Minor < right.Minor;

    /// <summary>Greater than.</summary>
    public static bool operator >(Money left, Money right) => left.Minor > right.Minor;

    /// <summary>At most.</summary>
    public static bool operator <=(Money left, Money right) => left.Minor <= right.Minor;

    /// <summary>At least.</summary>
    public static bool operator >=(Money left, Money right) => left.Minor >= right.Minor;

    /// <inheritdoc />
    public int CompareTo(Money other) => Minor.CompareTo(other.Minor);
}
